"""What came in with names and words goes out again in files: to a spreadsheet no formula, to a browser no markup."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from gradecheck.cli import main
from tests.app.driving import write_job

FORMULAS = ("=1+2", "+1+2", "-1+2", "@SUM(A1)", '=HYPERLINK("http://example.org";"x")')
"""What a spreadsheet would work out or run, as notes of points; a tab or a line end in front the plan refuses."""
PRINTED = ("=1+2", "+1+2", "−1+2", "@SUM(A1)", '=HYPERLINK("http://example.org";"x")')
"""The same as commands print them, with the true minus that is before every figure there."""
MARKUP = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "]]><!-- & --> &amp;", "</text><a href='x'>")
BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def job_with(folder: Path, notes: tuple[str, ...]) -> Path:
    """A job whose points, read today, have these notes; its area is called like the first of them."""
    quoted = ["'" + note.replace("'", "''") + "'" for note in notes]
    points = "".join(f"      P{n}: {{elevation: -1, what: {note}, at: [{n}, 2]}}\n" for n, note in enumerate(quoted))
    head = f"job: {quoted[0]}\nunits: in\nbenchmarks: {{DOOR: {{elevation: 0, what: {quoted[0]}}}}}\n"
    short = "'" + notes[0][:24].replace("'", "''") + "'"
    text = f"{head}tolerances: {{finish: 1/8}}\nareas:\n  {short}:\n    points:\n{points}"
    job = write_job(folder, text)
    assert main(["setup", str(job), "DOOR=50"]) == 0
    assert main(["read", str(job), *(f"P{n}=-51-1/2" for n in range(len(notes)))]) == 0
    assert main(["strike", str(job), "3", "--why", notes[0]]) == 0
    return job


def cells(text: str) -> list[str]:
    """Every cell of a CSV text."""
    return [cell for row in csv.reader(io.StringIO(text)) for cell in row]


def is_number(cell: str) -> bool:
    """Whether a spreadsheet takes the cell for a plain number."""
    return cell.removeprefix("-").replace(".", "", 1).isdecimal()


@pytest.mark.parametrize("given", ["log", "daily report", "point list"])
def test_no_cell_of_a_csv_is_a_formula_and_a_negative_number_stays_one(
    here: Path, capsys: pytest.CaptureFixture[str], given: str
) -> None:
    job = job_with(here / "yard", FORMULAS)
    capsys.readouterr()
    asked = {
        "log": ["log", str(job), "--csv"],
        "daily report": ["report", str(job), "-o", "day.csv"],
        "point list": ["plan", str(job), "--csv"],
    }
    assert main(asked[given]) == 0
    text = capsys.readouterr().out
    found = cells((here / "day.csv").read_text(encoding="utf-8-sig") if given == "daily report" else text)
    begun = [cell for cell in found if cell.startswith(BEGINS_A_FORMULA)]
    assert all(map(is_number, begun)), begun
    if given == "log":
        assert "'-51-1/2" in found, "a figure as it was keyed is text"
    else:
        assert {f"'{note}" for note in FORMULAS} <= {*found}, "what was written is there all the same"
        assert begun, "an elevation below the zero is a number"


def test_a_point_list_that_was_given_back_reads_as_what_it_was(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = job_with(here / "yard", FORMULAS)
    assert main(["plan", str(job), "--csv", "-o", "list.csv"]) == 0
    again = write_job(here / "again", (job / "job.yaml").read_text(encoding="utf-8").split("areas:")[0])
    (again / "list.csv").write_bytes((here / "list.csv").read_bytes())
    with (again / "job.yaml").open("a", encoding="utf-8") as file:
        file.write("areas: {yard: {points: list.csv}}\n")
    capsys.readouterr()
    assert main(["targets", str(again)]) == 0
    text = capsys.readouterr().out
    assert [line.rpartition("  ")[2] for line in text.splitlines()] == [*PRINTED]
    assert main(["plan", str(again), "--csv"]) == 0
    assert cells(capsys.readouterr().out) == cells((here / "list.csv").read_text(encoding="utf-8-sig"))


def test_markup_in_names_and_notes_is_text_in_the_svg(here: Path) -> None:
    job = job_with(here / "yard", MARKUP)
    assert main(["plan", str(job), "--svg", "plan.svg"]) == 0
    root = ET.fromstring((here / "plan.svg").read_bytes())  # noqa: S314 - made a moment ago
    kinds = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert not kinds & {"script", "a", "image", "img", "foreignObject", "use", "style", "iframe"}
    assert not [key for element in root.iter() for key in element.attrib if key.startswith("on") or "href" in key]
    assert MARKUP[0] in "".join(root.itertext()), "the job's title stands in the picture, letter by letter"
