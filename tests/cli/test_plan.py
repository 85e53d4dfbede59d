"""The command `plan`: what it prints, what it writes whole or not at all, and what it never writes over."""

from __future__ import annotations

import json
import os
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.measure.notation import Units
from gradecheck.plan.geojson import read_geojson
from gradecheck.plan.point_list import read_point_list
from tests.cli.asides import answered, unexpected
from tests.report.site import YARD

Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The job's folder, in the folder the commands are given in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setenv("LINES", "20")
    folder = Path("yard")
    folder.mkdir()
    (folder / "job.yaml").write_text(YARD, encoding="utf-8")
    return folder


def said(capsys: Out, *arguments: str, code: int = 0) -> str:
    """What a command prints, on stdout where it is done and on stderr where it is not understood."""
    assert main(["plan", *arguments]) == code
    printed = capsys.readouterr()
    assert (unexpected(printed.err) == "") == (code == 0)
    return printed.err if code else printed.out


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def picture(name: str) -> ET.Element:
    """The SVG, read again."""
    return ET.parse(name).getroot()  # noqa: S314 - written a moment ago


# -- printing


def test_the_sheet_is_printed_as_wide_as_the_terminal_and_writes_nothing(job: Path, capsys: Out) -> None:
    before = files(job)
    lines = said(capsys, "yard").splitlines()
    assert lines[0] == "Thrushfield Lane yard: grade plan"
    assert "LOOSE  by the tap       −3   −5 3/8   −11 3/8" in lines
    assert max(map(len, lines)) <= 60
    assert any("\u2800" <= c <= "\u28ff" for line in lines for c in line)
    assert files(job) == before


def test_ascii_draws_without_dots_and_an_area_is_drawn_alone(job: Path, capsys: Out) -> None:
    text = said(capsys, "yard/job.yaml", "--area", "yard", "--ascii")
    assert text.isascii()
    assert "steps" not in text


def test_points_as_a_list_and_as_geojson_can_be_read_again(job: Path, capsys: Out) -> None:
    assert main(["plan", "yard", "--csv"]) == 0
    printed = capsys.readouterr()
    points = read_point_list(printed.out, "points.csv", Units.IN)
    assert [point.name for point in points] == ["A", "B", "C", "D", "LOOSE", "S1", "S2", "S3"]
    assert unexpected(printed.err) == (
        "deck is on datum pool, which is tied in on site; "
        "its elevations are left out, and with them points without a place.\n"
    )
    text = said(capsys, "yard", "--area", "yard", "--geojson")
    read = read_geojson(text, "points.geojson", Units.IN)
    assert [each.name for each in read.outlines] == ["yard"]
    assert len(read.outlines[0].outline.holes) == 1
    assert len(read.points) == 5


def test_the_answer_in_json(job: Path, capsys: Out) -> None:
    answer = answered(said(capsys, "yard", "--json", "--svg", "y.svg"))
    assert [area["area"] for area in answer["areas"]] == ["yard", "steps", "deck"]
    assert answer["written"] == ["y.svg"]


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--area", "yrad"], "There is no area “yrad”; known are yard, steps, deck."),
        (["--csv", "--geojson"], "--csv and --geojson are several answers; ask for one at a time."),
        (["--json", "-o", "x.json"], "With --json the answer is printed"),
        (["--svg", "x.svg", "-o", "./x.svg"], "The SVG and the grade plan can't be one file"),
    ],
)
def test_what_is_not_understood_is_one_sentence_and_writes_nothing(
    job: Path, capsys: Out, arguments: list[str], sentence: str
) -> None:
    assert said(capsys, "yard", *arguments, code=2).startswith(sentence)
    assert os.listdir() == ["yard"]


def test_hostile_words_are_printed_as_text(job: Path, capsys: Out) -> None:
    text = YARD.replace("what: left", 'what: "\\x41[bold]red &<b>"')
    (job / "job.yaml").write_text(text, encoding="utf-8")
    assert "A[bold]red &<b>" in said(capsys, "yard")
    said(capsys, "yard", "--svg", "y.svg")
    titles = [element.text for element in picture("y.svg").iter("{http://www.w3.org/2000/svg}title")]
    assert "A −1 A[bold]red &<b>" in titles


# -- writing


def test_the_svg_and_the_sheet_are_written_and_may_be_written_again(job: Path, capsys: Out) -> None:
    for _ in range(2):
        text = said(capsys, "yard", "--svg", "yard/plan.svg", "-o", "yard/plan.txt")
        assert text == f"Written to {Path('yard/plan.svg')} and {Path('yard/plan.txt')}.\n"
        assert picture("yard/plan.svg").tag.endswith("svg")
        assert Path("yard/plan.txt").read_text(encoding="utf-8").startswith("Thrushfield Lane yard: grade plan\n")
        assert sorted(os.listdir("yard")) == ["job.yaml", "plan.svg", "plan.txt"], "nothing is left beside them"


@pytest.mark.parametrize("kind", ["--csv", "--geojson"])
def test_a_list_written_to_a_file_may_be_written_again(job: Path, capsys: Out, kind: str) -> None:
    for _ in range(2):
        assert main(["plan", "yard", "--area", "yard", kind, "-o", "yard/points"]) == 0
    assert unexpected(capsys.readouterr().err) == ""


@pytest.mark.parametrize(
    "name",
    ["job.yaml", "JOB.yaml", "../yard/job.yaml", "journal.db", "journal.db-journal", "journal.backup-1.db",
     "Journal.DB"],
)  # fmt: skip
@pytest.mark.parametrize("option", ["--svg", "-o"])
def test_the_plan_and_the_journal_are_never_written_over(job: Path, capsys: Out, name: str, option: str) -> None:
    before = files(job)
    assert "belongs to the job itself" in said(capsys, "yard", option, f"yard/{name}", code=2)
    assert files(job) == before


def test_a_list_that_the_plan_reads_is_never_written_over(job: Path, capsys: Out) -> None:
    (job / "walk.csv").write_text("name,x (in),y (in),elevation (in),note\r\nW1,0,0,-1,\r\n", encoding="utf-8")
    text = YARD.replace("  deck:\n", "  walk:\n    points: walk.csv\n  deck:\n")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    before = files(job)
    assert "belongs to the job itself" in said(
        capsys, "yard", "--area", "walk", "--csv", "-o", "yard/walk.csv", code=2
    )
    assert files(job) == before


@pytest.mark.parametrize("option", [["--svg"], ["-o"], ["--csv", "-o"], ["--geojson", "-o"]])
def test_another_file_of_the_job_is_never_written_over(job: Path, capsys: Out, option: list[str]) -> None:
    (job / "notes").write_text("bring the long rod\n", encoding="utf-8")
    before = files(job)
    arguments = ["yard", "--area", "yard", *option, "yard/notes"]
    assert "another file of the job" in said(capsys, *arguments, code=2)
    assert files(job) == before


def test_a_link_to_the_plan_is_refused_as_the_plan_is(job: Path, capsys: Out) -> None:
    link = Path("link.svg")
    try:
        link.symlink_to(job / "job.yaml")
    except OSError:
        pytest.skip("no links here")
    assert "belongs to the job itself" in said(capsys, "yard", "--svg", "link.svg", code=2)
    assert link.is_symlink()


@pytest.mark.parametrize("name", ["yard", "nowhere/plan.svg", "."])
def test_a_folder_or_a_place_that_is_not_there_is_refused(job: Path, capsys: Out, name: str) -> None:
    before = files(job)
    said(capsys, "yard", "--svg", name, code=2)
    assert files(job) == before
    assert os.listdir() == ["yard"]


def test_a_write_that_fails_leaves_the_old_file_whole(
    job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    said(capsys, "yard", "--svg", "plan.svg")
    before = Path("plan.svg").read_bytes()
    (job / "job.yaml").write_text(YARD.replace("Thrushfield", "Fieldthrush"), encoding="utf-8")

    def full(number: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("gradecheck.cli.plan.os.fsync", full)
    assert "plan.svg could not be written" in said(capsys, "yard", "--svg", "plan.svg", code=2)
    assert Path("plan.svg").read_bytes() == before
    assert sorted(os.listdir()) == ["plan.svg", "yard"]


@pytest.mark.parametrize(
    ("name", "begins"),
    [("plan.pdf", b"%PDF-"), ("PLAN.PDF", b"%PDF-"), ("plan.html", b"<!DOCTYPE html>"), ("plan.svg", b"<svg ")],
)
def test_a_file_is_what_its_ending_says_and_may_be_written_again(
    job: Path, capsys: Out, name: str, begins: bytes
) -> None:
    for folder in (".", "yard"):
        for _ in range(2):
            assert said(capsys, "yard", "-o", f"{folder}/{name}") == f"Written to {Path(folder, name)}.\n"
        assert Path(folder, name).read_bytes().startswith(begins)


def test_an_ending_that_says_nothing_is_refused(job: Path, capsys: Out) -> None:
    for name in ("plan.doc", "plan.json", "plan.labels"):
        text = said(capsys, "yard", "-o", name, code=2)
        assert text.startswith(f"“{name}” does not say what to write; end it with .pdf, .html, .svg, .txt, .csv")
    assert os.listdir() == ["yard"]


@pytest.mark.parametrize("name", ["drawn.pdf", "drawn.html"])
def test_what_somebody_else_put_into_the_job_is_not_written_over(job: Path, capsys: Out, name: str) -> None:
    theirs = b"%PDF-1.7 an architect's own" if name.endswith("pdf") else b"<!DOCTYPE html>\n<html><head><title>a"
    Path("yard", name).write_bytes(theirs)
    assert "is another file of the job" in said(capsys, "yard", "-o", f"yard/{name}", code=2)
    assert Path("yard", name).read_bytes() == theirs


def test_the_page_has_every_point_surface_and_what_it_may_be_off(job: Path, capsys: Out) -> None:
    said(capsys, "yard", "-o", "plan.html")
    page = Path("plan.html").read_text(encoding="utf-8")
    for name in ("A", "B", "C", "D", "LOOSE", "S1", "S2", "S3", "P1"):
        assert f"<strong>{name}</strong>" in page
    for figure in ("3 3/8", "5 3/4", "11 3/4"):  # of C at finish, base and dig
        assert figure in page
    assert "may be high" in page
    assert "Local code and the drawings decide." in page


def test_a_folder_that_is_not_there_is_named_with_what_to_do(job: Path, capsys: Out) -> None:
    assert said(capsys, "yard", "-o", "out/plan.pdf", code=2) == (
        "There is no folder out; make it first, or name another.\n"
    )


# -- setting out


def test_the_tapes_to_each_point_are_told_and_drawn(job: Path, capsys: Out) -> None:
    assert main(["targets", "yard", "--ties"]) == 0
    text = capsys.readouterr().out.splitlines()
    assert "yard             A        ~60' 2 1/2\" from house C2 and 5' from yard C1, crossing at 85°" in text
    assert "yard             LOOSE    no place in the plan, so no tapes" in text
    said(capsys, "yard", "--ties", "--area", "yard", "-o", "ties.svg")
    assert len(picture("ties.svg").findall(".//{*}line[@class='tie']")) == 8
    said(capsys, "yard", "--area", "yard", "-o", "plain.svg")
    assert not picture("plain.svg").findall(".//{*}line[@class='tie']")


def test_ties_as_json_have_lengths_and_the_angle(job: Path, capsys: Out) -> None:
    assert main(["targets", "yard", "--ties", "--area", "yard", "--json"]) == 0
    first, *_, last = answered(capsys.readouterr().out)
    assert [each["from"] for each in first["ties"]] == ["house C2", "yard C1"]
    assert first["ties"][1]["length"] == {"mm": 1524.0, "text": "5'"}
    assert first["crossing"] == 85.2
    assert (last["ties"], last["crossing"], last["why"]) == ([], None, "no place in the plan, so no tapes")


def test_turning_points_that_have_a_place_are_corners_for_tapes(job: Path, capsys: Out) -> None:
    """A is at 0', 5': the marks lie 3' and 4' off it, each to a side of its own, so both tapes are 5' and square."""
    for words in (
        ["setup", "yard", "SILL=48", "--by", "RK"],
        ["mark", "yard", "TP1=52", "--at", "3 ft, 9 ft", "--by", "RK"],
        ["mark", "yard", "TP2=53", "--at", "-4 ft, 8 ft", "--by", "RK"],
        ["mark", "yard", "TP3=54", "--by", "RK"],
    ):
        assert main(words) == 0
    capsys.readouterr()
    assert main(["targets", "yard", "--ties"]) == 0
    printed = capsys.readouterr()
    assert "yard             A        5' from TP1 and 5' from TP2, crossing at 90°" in printed.out.splitlines()
    assert "No tape starts from TP3: the plan does not say where it lies." in printed.err
    assert main(["plan", "yard", "--ties", "--area", "yard", "-o", "ties.svg"]) == 0
    assert "TP1" in {each.text for each in picture("ties.svg").iter("{http://www.w3.org/2000/svg}text")}
    capsys.readouterr()
    assert main(["log", "yard", "--json"]) == 0
    struck = next(each for each in answered(capsys.readouterr().out) if "TP2" in json.dumps(each))
    assert main(["strike", "yard", str(struck["seq"]), "--why", "wrong stone", "--by", "RK"]) == 0
    capsys.readouterr()
    assert main(["targets", "yard", "--ties"]) == 0
    assert "TP2" not in capsys.readouterr().out


@pytest.mark.parametrize("place", ["nowhere", "3 ft", "LOOSE"])
def test_a_mark_whose_place_can_not_be_read_is_refused_and_not_made(job: Path, capsys: Out, place: str) -> None:
    assert main(["setup", "yard", "SILL=48", "--by", "RK"]) == 0
    before = files(job)
    assert main(["mark", "yard", "TP1=52", "--at", place, "--by", "RK"]) == 2
    assert files(job) == before
    assert "x and y, such as" in capsys.readouterr().err


def test_the_labels_of_stakes_are_printed_and_written(job: Path, capsys: Out) -> None:
    text = said(capsys, "yard", "--labels", "--above", "6", "--area", "yard").splitlines()
    assert text[0] == (
        "yard             A        top 6 in above finish: cut 6 to finish; cut 8 3/8 to base; cut 14 3/8 to subgrade"
    )
    said(capsys, "yard", "--labels", "--above", "6", "--stage", "base", "-o", "stakes.csv")
    rows = Path("stakes.csv").read_text(encoding="utf-8-sig").splitlines()
    assert rows[0] == "area,name,what,x (in),y (in),stake,top (in),stage,elevation (in),label"
    assert rows[1] == "yard,A,left,0,60,top 6 in above finish,5,base,-3.375,cut 8 3/8 to base"
    for name in ("stakes.pdf", "stakes.html", "stakes.txt", "stakes.xlsx"):
        said(capsys, "yard", "--labels", "-o", name)
        said(capsys, "yard", "--labels", "-o", name)
    assert Path("stakes.pdf").read_bytes().startswith(b"%PDF-")
    assert "cut 2 3/8 to base" in Path("stakes.html").read_text(encoding="utf-8")
    assert "top at finish: at finish; cut 2 3/8 to base" in Path("stakes.txt").read_text(encoding="utf-8")


def test_labels_have_files_of_their_own_and_never_the_jobs(job: Path, capsys: Out) -> None:
    assert "end it with .pdf, .html, .txt, .csv, .xlsx" in said(capsys, "yard", "--labels", "-o", "a.dxf", code=2)
    assert "belongs to the job itself" in said(capsys, "yard", "--labels", "-o", "yard/journal.csv", code=2)
    assert "without a minus" in said(capsys, "yard", "--labels", "--above", "-3", code=2)
    assert "belongs to --labels" in said(capsys, "yard", "--above", "3", code=2)
    assert not Path("a.dxf").exists()
