"""`asbuilt`, `plan -o` and `import`: what is written, for the office or next to the job file."""

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
from tests.cli.asides import answered, unexpected
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
    printed = capsys.readouterr()
    assert printed.out == f"8 readings written to built{ending}.\n"
    left_out = "1 point of 8 without x and y left out of the drawing.\n" if drawing else ""
    assert unexpected(printed.err) == left_out
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
    printed = capsys.readouterr()
    assert printed.out == ""
    assert unexpected(printed.err) == (
        f"“{name}” does not say what to write; end it with .csv, .geojson, .xlsx, .dxf, .xml, .landxml.\n"
    )
    assert sorted(os.listdir()) == before


def test_json_has_the_same_columns_with_lengths_in_millimeters_and_words(job: Path, capsys: Out) -> None:
    assert main(["asbuilt", "court", "--area", "yard", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert answer["job"] == "Quillmere Court"
    assert answer["log to entry"] > 19
    assert len(answer["hash"]) == 64
    columns = "area stage point x y target found off verdict U time person laptop setup entry remark"
    assert all(" ".join(row) == columns for row in answer["rows"])
    row = answer["rows"][5]
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
def test_a_drawing_is_written_over_only_where_written_here(job: Path, capsys: Out, ending: str) -> None:
    name = f"court/plan{ending}"
    assert main(["plan", "court", "-o", name]) == 0
    assert main(["plan", "court", "-o", name]) == 0
    Path(name).write_text("theirs", encoding="utf-8")
    assert main(["plan", "court", "-o", name]) == 2
    assert Path(name).read_text(encoding="utf-8") == "theirs"
    capsys.readouterr()


def test_quantities_are_written_as_a_table_and_as_nothing_else(job: Path, capsys: Out) -> None:
    for name in ("amounts.csv", "amounts.xlsx"):
        assert main(["quantities", "court", "--truck", "10 yd^3", "-o", name]) == 0
        assert capsys.readouterr().out.endswith(f"rows written to {name}.\n")
    rows = list(csv.DictReader(io.StringIO(Path("amounts.csv").read_text("utf-8-sig"), newline=""), strict=True))
    cells = openpyxl.load_workbook("amounts.xlsx").worksheets[0].iter_rows(min_row=2, values_only=True)
    assert [row["what"] for row in rows] == [cell[1] for cell in cells]
    assert ("A to B", "10", "ft") in [(row["what"], row["amount"], row["unit"]) for row in rows]
    assert main(["quantities", "court", "--json"]) == 0
    assert len(answered(capsys.readouterr().out)["rows"]) == len(rows)
    assert main(["quantities", "court", "-o", "amounts.dxf"]) == 2
    assert "end it with .csv, .xlsx." in unexpected(capsys.readouterr().err)
    assert main(["quantities", "court", "--truck", "10 ft"]) == 2
    capsys.readouterr()


# -- import


OFFICE = "1;1000,125;500,5;12,25;kerb\n2;1010;510,25;12,5;\n"
GIVEN = ("--order", "pnezd", "--units", "m", "--prefix", "P")


@pytest.fixture
def office(job: Path) -> Path:
    """A list of the office beside the job's folder."""
    Path("office.csv").write_text(OFFICE, encoding="utf-8")
    return Path("office.csv")


def test_dry_shows_what_was_found_and_asks_and_writes_nothing(job: Path, office: Path, capsys: Out) -> None:
    before = sorted(os.listdir("court"))
    assert main(["import", "court", "office.csv", "--dry"]) == 1
    text = capsys.readouterr().out.splitlines()
    assert text[:3] == ["office.csv: CSV", "  2 rows", "  line 1: 1 | 1000,125 | 500,5 | 12,25 | kerb"]
    assert [line[:40] for line in text if line.startswith("?")] == [
        "? The list has no headings and 5 columns",
        "? What unit are the numbers in? --units ",
    ]
    assert main(["import", "court", "office.csv", "--dry", *GIVEN]) == 0
    assert "2 points: x 500.500 m to 510.250 m" in capsys.readouterr().out
    assert main(["import", "court", "office.csv"]) == 1
    capsys.readouterr()
    assert sorted(os.listdir("court")) == before


def test_the_answers_are_kept_and_what_changed_since_is_shown(job: Path, office: Path, capsys: Out) -> None:
    assert main(["import", "court", "office.csv", *GIVEN]) == 0
    assert capsys.readouterr().out.endswith("In job.yaml an area takes it with:\n    points: office.csv\n")
    assert Path("court/office.csv").read_text(encoding="utf-8").splitlines()[1:] == [
        "name,x (m),y (m),elevation (m),note",
        "P1,500.5,1000.125,12.25,kerb",
        "P2,510.25,1010,12.5,",
    ]
    office.write_text("1;1000,125;500,5;12,375;kerb\n3;1010;510,25;12,5;\n", encoding="utf-8")
    assert main(["import", "court", "office.csv", "--dry", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert answer["changed"] == {"new": ["P3"], "gone": ["P2"], "changed": ["P1"]}
    assert main(["import", "court", "office.csv", "--order", "PENZD"]) == 0
    assert "P1,1000.125,500.5,12.375,kerb" in Path("court/office.csv").read_text(encoding="utf-8")
    capsys.readouterr()


def test_a_list_of_somebody_else_is_not_written_over(job: Path, office: Path, capsys: Out) -> None:
    Path("court/office.csv").write_text("name,elevation\nA,1\n", encoding="utf-8")
    assert main(["import", "court", "office.csv", *GIVEN]) == 2
    assert "--as NAME.csv" in unexpected(capsys.readouterr().err)
    Path("court/link.csv").symlink_to("/nowhere")
    for name in ("link.csv", "job.yaml", "journal.csv", "../out.csv", "a.txt", "con.csv"):
        assert main(["import", "court", "office.csv", "--as", name, *GIVEN]) == 2, name
        assert len(unexpected(capsys.readouterr().err).splitlines()) == 1
    assert main(["import", "court", "office.csv", "--as", "site.csv", *GIVEN]) == 0
    capsys.readouterr()


@pytest.mark.parametrize("what", ["nowhere.csv", "court", "pipe"])
def test_what_can_not_be_read_is_refused_without_waiting(job: Path, capsys: Out, what: str) -> None:
    os.mkfifo("pipe")
    assert main(["import", "court", what]) == 2
    assert len(unexpected(capsys.readouterr().err).splitlines()) == 1


def test_an_outline_alone_is_written_alone_and_over_no_other(job: Path, capsys: Out) -> None:
    document = ezdxf.new("R2010")
    document.modelspace().add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True, dxfattribs={"layer": "EDGE"})
    document.saveas("edge.dxf")
    assert main(["import", "court", "edge.dxf", "--units", "m"]) == 2
    assert "--outline LAYER takes a line" in unexpected(capsys.readouterr().err)
    given = ["import", "court", "edge.dxf", "--units", "m", "--outline", "EDGE"]
    assert main(given) == main(given) == 0
    assert capsys.readouterr().out.endswith("    outline: edge-outline.geojson\n")
    assert not Path("court/edge.csv").exists()
    Path("court/edge-outline.geojson").write_text("{}", encoding="utf-8")
    assert main(given) == 2
    assert Path("court/edge-outline.geojson").read_text(encoding="utf-8") == "{}"
    capsys.readouterr()


def test_layers_and_columns_are_given_again_and_again(job: Path, capsys: Out) -> None:
    document = ezdxf.new("R2010")
    for layer in ("A", "B", "C"):
        document.modelspace().add_point((1, 2, 3), dxfattribs={"layer": layer})
    document.saveas("spots.dxf")
    given = ["--units", "m", "--prefix", "P", "--columns", "elevation=z"]
    assert main(["import", "court", "spots.dxf", *given, "--layer", "A", "--layer", "C", "--json"]) == 0
    assert answered(capsys.readouterr().out)["points"] == 2
    assert main(["import", "court", "spots.dxf", "--dry", "--json"]) == 0
    assert answered(capsys.readouterr().out)["points"] == 2


def test_of_many_things_wrong_the_first_are_told_and_how_many_more(job: Path, capsys: Out) -> None:
    rows = "".join(f"A{n},none\n" for n in range(99))
    Path("bad.csv").write_text(f"name,elevation (m)\nA,1\n{rows}", encoding="utf-8")
    assert main(["import", "court", "bad.csv"]) == 2
    lines = unexpected(capsys.readouterr().err).splitlines()
    assert len(lines) == 21
    assert lines[0] == "bad.csv:3:1: line 3: elevation: “none” is not a length; type it like 1.351."
    assert lines[-1].endswith("And 79 more like these.")


def test_an_outline_is_written_beside_the_list_and_both_make_an_area(job: Path, capsys: Out) -> None:
    ring = [[0, 0], [9, 0], [9, 9], [0, 9], [0, 0]]
    features = [
        {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2, 3]}, "properties": {"name": "A1"}},
        {"type": "Feature", "geometry": {"type": "Polygon", "coordinates": [ring]}, "properties": {"layer": "edge"}},
    ]
    text = json.dumps({"type": "FeatureCollection", "units": "m", "features": features})
    Path("site.json").write_text(text, encoding="utf-8")
    assert main(["import", "court", "site.json", "--outline", "edge"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2:] == ["    points: site.csv", "    outline: site-outline.geojson"]
    job_file = Path("court/job.yaml")
    text = job_file.read_text(encoding="utf-8").replace("layout:", "  site:\n" + "\n".join(lines[-2:]) + "\nlayout:")
    job_file.write_text(text, encoding="utf-8")
    assert main(["targets", "court", "--area", "site", "--json"]) == 0
    assert "A1" in capsys.readouterr().out
