"""`gradecheck asbuilt` and `plan -o`: the ending says what is written; never over the job's own."""

from __future__ import annotations

import csv
import io
import json
import os
import xml.etree.ElementTree as ET
from pathlib import Path

import ezdxf
import openpyxl
import pytest

from gradecheck.cli import main
from gradecheck.exchange.as_built import COLUMNS
from tests.commands.asides import unexpected
from tests.report.day import a_day

Out = pytest.CaptureFixture[str]
ENDINGS = (".csv", ".geojson", ".xlsx", ".dxf", ".xml", ".landxml")


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job with one day's work, in the folder the command is given in."""
    monkeypatch.chdir(tmp_path)
    a_day(tmp_path / "court").session.close()
    return Path("court")


def names_in(path: Path) -> list[str]:
    """The points' names in a file, read by another library."""
    match path.suffix:
        case ".csv":
            rows = list(csv.DictReader(io.StringIO(path.read_text("utf-8-sig"), newline=""), strict=True))
            return [row.get("point") or row["name"] for row in rows]
        case ".geojson":
            told = [each["properties"] for each in json.loads(path.read_text("utf-8"))["features"]]
            return [each.get("point") or each["name"] for each in told]
        case ".xlsx":
            heading, *rows = openpyxl.load_workbook(path).worksheets[0].iter_rows(values_only=True)
            at = heading.index("point" if "point" in heading else "name")
            return [str(row[at]) for row in rows]
        case ".dxf":
            inserts = ezdxf.readfile(path).modelspace().query("INSERT")
            told = [{each.dxf.tag: each.dxf.text for each in insert.attribs} for insert in inserts]
            return [each.get("POINT") or each["NAME"] for each in told]
        case _:
            root = ET.parse(path).getroot()  # noqa: S314 - written a moment ago
            return [each.attrib["name"] for each in root.iter() if each.tag.endswith("CgPoint")]


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_ending_says_what_is_written_of_what_was_built(job: Path, capsys: Out, ending: str) -> None:
    drawing = ending in (".dxf", ".xml", ".landxml")
    assert main(["asbuilt", "court", "-o", f"built{ending}"]) == 0
    told = capsys.readouterr()
    assert told.out == f"8 readings written to built{ending}.\n"
    left_out = "1 point of 8 without x and y left out of the drawing.\n" if drawing else ""
    assert unexpected(told.err) == left_out
    expected = ["Y1", "Y2", "Y3", "Y4", "Y1", "Y2", "Y3", "P1"]
    assert names_in(Path(f"built{ending}")) == expected[: 7 if drawing else 8]


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_ending_says_what_the_plan_is_written_as(job: Path, capsys: Out, ending: str) -> None:
    assert main(["plan", "court", "-o", f"plan{ending}"]) == 0
    assert capsys.readouterr().out == f"Written to plan{ending}.\n"
    drawing = ending in (".dxf", ".xml", ".landxml")
    assert names_in(Path(f"plan{ending}")) == ["Y1", "Y2", "Y3", "Y4", *([] if drawing else ["Y5", "P1"])]


@pytest.mark.parametrize("name", ["built", "built.txt", "built.csv.gz", "built.xls"])
def test_an_unknown_ending_is_refused_with_those_that_can_be(job: Path, capsys: Out, name: str) -> None:
    before = sorted(os.listdir())
    assert main(["asbuilt", "court", "-o", name]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert unexpected(told.err) == (
        f"“{name}” does not say what to write; end it with .csv, .geojson, .xlsx, .dxf, .xml, .landxml.\n"
    )
    assert sorted(os.listdir()) == before


def test_json_has_the_same_columns_with_lengths_in_millimeters_and_words(job: Path, capsys: Out) -> None:
    assert main(["asbuilt", "court", "--area", "yard", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["job"] == "Quillmere Court"
    assert told["log to entry"] > 19
    assert len(told["hash"]) == 64
    assert all(list(row) == list(COLUMNS) for row in told["rows"])
    row = told["rows"][5]
    assert (row["point"], row["stage"], row["verdict"], row["entry"]) == ("Y2", "base", "CUT", 6)
    assert row["off"] == {"mm": 12.7, "text": "1/2 in"}
    assert row["target"] == {"mm": -85.725, "text": "-3 3/8 in"}


def test_without_a_file_it_prints_the_list(job: Path, capsys: Out) -> None:
    assert main(["asbuilt", "court", "--area", "path"]) == 0
    heading, row = capsys.readouterr().out.splitlines()
    assert heading.startswith("area,stage,point,x (in),y (in),target (in),found (in),off (in),verdict,U (in),")
    assert row.startswith("path,finish,P1,,,-2,-2,0,ON GRADE,")


def test_nothing_of_the_job_is_written_over_and_no_link_is_followed(job: Path, capsys: Out) -> None:
    journal = (job / "journal.db").read_bytes()
    assert main(["asbuilt", "court", "-o", "court/job.yaml"]) == 2
    Path("list.csv").symlink_to("court/journal.db")
    assert main(["asbuilt", "court", "-o", "list.csv"]) == 2
    capsys.readouterr()
    assert (job / "journal.db").read_bytes() == journal
    Path("kept.csv").write_text("kept", encoding="utf-8")
    Path("link.csv").symlink_to("kept.csv")
    assert main(["asbuilt", "court", "-o", "link.csv"]) == 0
    assert Path("kept.csv").read_text(encoding="utf-8") == "kept"
    assert not Path("link.csv").is_symlink()


@pytest.mark.parametrize("ending", [".dxf", ".xml"])
def test_a_drawing_in_the_jobs_folder_is_written_over_only_where_it_was_written_here(
    job: Path, capsys: Out, ending: str
) -> None:
    name = f"court/plan{ending}"
    assert main(["plan", "court", "-o", name]) == 0
    assert main(["plan", "court", "-o", name]) == 0
    Path(name).write_text("theirs", encoding="utf-8")
    assert main(["plan", "court", "-o", name]) == 2
    assert Path(name).read_text(encoding="utf-8") == "theirs"
    capsys.readouterr()
