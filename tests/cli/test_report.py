"""`gradecheck report`: the right kind of file, whole or not at all, never over what belongs to the job."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.files import exports
from gradecheck.files.exports import write_daily_report
from tests.cli.asides import answered
from tests.report.day import Site, a_day

Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job with one day's work, in the folder the command is given in."""
    monkeypatch.chdir(tmp_path)
    a_day(tmp_path / "court").session.close()
    return Path("court")


def refused(capsys: Out, *arguments: str) -> str:
    """What the command says when it does not understand."""
    assert main(["report", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err.splitlines()) == 1
    return printed.err


def folder_of(path: Path = Path()) -> set[str]:
    """The names of all files there."""
    return {each.name for each in path.iterdir()}


def test_without_a_file_it_says_the_last_day_in_ten_lines(job: Path, capsys: Out) -> None:
    assert main(["report", "court"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Quillmere Court, 2026-05-12: 8 readings by RK, MT."
    assert len(lines) <= 10
    assert main(["report", "court", "--json"]) == 0
    assert answered(capsys.readouterr().out)["day"] == "2026-05-12"


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("day.pdf", b"%PDF-"),
        ("day.html", b"<!DOCTYPE html>"),
        ("day.json", b"{"),
        ("day.txt", b"Quillmere"),
        ("DAY.PDF", b"%PDF-"),
    ],
)
def test_the_ending_says_what_is_written(job: Path, capsys: Out, name: str, begins: bytes) -> None:
    assert main(["report", "court", "-o", name]) == 0
    assert capsys.readouterr().out == f"2026-05-12: written to {name}.\n"
    assert Path(name).read_bytes().startswith(begins)
    assert folder_of() == {"court", name}, "nothing else is left behind"


def test_a_machine_that_can_make_no_pdf_says_so_and_writes_what_it_can(
    job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # importing it fails from here on
    says = "This machine can't make a PDF (it has no typst); end “{}” with .html or .txt instead.\n"
    assert refused(capsys, "court", "-o", "day.pdf") == says.format("day.pdf")
    for asked in (["review", "--left"], ["plan"], ["plan", "--labels"]):
        assert main([asked[0], "court", *asked[1:], "-o", "sheet.PDF"]) == 2
        assert capsys.readouterr().err == says.format("sheet.PDF")
    assert folder_of() == {"court"}, "nothing is begun"
    for name in ("day.html", "day.txt"):
        assert main(["report", "court", "-o", name]) == 0
    assert folder_of() == {"court", "day.html", "day.txt"}


def test_another_zone_leaves_each_reading_on_its_own_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    # The morning at -5; from 14:00 on the laptop shows a zone where it is 4:00 of the next day.
    monkeypatch.chdir(tmp_path)
    site = Site(tmp_path / "court")
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    first = [site.read(point, "53-3/8") for point in ("Y1", "Y2")]
    site.start = datetime(2026, 5, 13, 4, tzinfo=timezone(timedelta(hours=9)))
    assert site.session.why_set_up_is_old
    site.session.record(actions.recheck(site.session.state, "DOOR", "50"))
    second = [site.read(point, "53-3/8") for point in ("Y3", "Y4")]
    site.session.record(site.session.correct(first[0], "53-1/2"))
    first[0] = site.session.all_lines()[-1].entry.id
    ids = {line.entry.seq: line.entry.id for line in site.session.all_lines()}
    site.session.close()

    def asked(*arguments: str) -> Any:
        assert main([*arguments, "--json"]) in (0, 1)
        return answered(capsys.readouterr().out)

    logged = []
    for day, wanted in (("2026-05-12", first), ("2026-05-13", second)):
        assert main(["report", "court", "--day", day, "-o", f"{day}.json"]) == 0
        capsys.readouterr()
        (area,) = json.loads(Path(f"{day}.json").read_text(encoding="utf-8"))["areas"]
        told = [each for stage in area["stages"] for each in stage["readings"]]
        assert [ids[each["seq"]] for each in told] == wanted
        assert [row["read"] for row in asked("review", "court", "--day", day)["stages"]] == [2]
        logged += [row["seq"] for row in asked("log", "court", "--day", day)]
    assert logged == sorted(ids)


def test_csv_is_one_file_for_each_area(job: Path, capsys: Out) -> None:
    assert main(["report", "court", "-o", "day.csv", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert answer["files"] == ["day-yard.csv", "day-path.csv"]
    rows = list(csv.DictReader(io.StringIO(Path("day-path.csv").read_text(encoding="utf-8-sig"))))
    assert [(row["point"], row["area"], row["now"]) for row in rows] == [("P1", "path", "ON GRADE")]


def test_the_answer_in_json_names_the_journals_end(job: Path, capsys: Out) -> None:
    assert main(["report", "court", "-o", "day.pdf", "--paper", "a4", "--day", "2026-05-12", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert main(["verify", "court", "--json"]) == 0
    sound = answered(capsys.readouterr().out)
    assert (answer["files"], answer["last"], answer["hash"]) == (["day.pdf"], sound["entries"], sound["hash"])
    assert main(["verify", "court", "--hash", f"{answer['last']}: {answer['hash to read out']}"]) == 0


def test_writing_a_sheet_writes_nothing_in_the_journal(job: Path) -> None:
    before = (job / "journal.db").read_bytes()
    assert main(["report", "court", "-o", "day.pdf"]) == 0
    assert (job / "journal.db").read_bytes() == before


@pytest.mark.parametrize("name", ["day.docx", "day", "court/job.yaml", "court/journal.db"])
def test_a_name_that_does_not_say_what_to_write_is_refused(job: Path, capsys: Out, name: str) -> None:
    before = {path: path.read_bytes() for path in job.iterdir()}
    assert "end it with .pdf, .html, .csv, .json, .txt" in refused(capsys, "court", "-o", name)
    assert {path: path.read_bytes() for path in job.iterdir()} == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--day", "2026-05-13"), "Nothing was recorded on 2026-05-13; the last day with entries is 2026-05-12."),
        (("--day", "12.5.2026"), "“12.5.2026” is not a day; write it like 2026-05-12."),
        (("--day", "20260512"), "“20260512” is not a day; write it like 2026-05-12."),
        (("-o", "nowhere/day.pdf"), "There is no folder nowhere; make it first, or name another."),
    ],
)
def test_what_is_not_understood_is_said_in_a_sentence(
    job: Path, capsys: Out, arguments: tuple[str, ...], says: str
) -> None:
    assert refused(capsys, "court", *arguments) == f"{says}\n"


def test_a_folder_of_that_name_is_refused(job: Path, capsys: Out) -> None:
    Path("day.pdf").mkdir()
    assert refused(capsys, "court", "-o", "day.pdf") == "day.pdf is a folder; name a file.\n"


def test_a_job_nobody_worked_on_has_no_daily_report(tmp_path: Path, capsys: Out) -> None:
    Site(tmp_path / "new").session.close()
    assert "Nothing was recorded in this job yet" in refused(capsys, str(tmp_path / "new"))
    assert folder_of(tmp_path / "new") == {"job.yaml"}


def test_an_old_sheet_is_replaced_and_keeps_its_name(job: Path) -> None:
    Path("day.txt").write_text("yesterday's", encoding="utf-8")
    assert main(["report", "court", "-o", "day.txt"]) == 0
    assert "Quillmere" in Path("day.txt").read_text(encoding="utf-8")


def test_a_list_that_the_plan_is_read_from_is_never_written_over(tmp_path: Path) -> None:
    text = (
        "job: Listed Yard\nunits: in\nrods:\n  site rod: {kind: standard}\nbenchmarks:\n  DOOR: {elevation: 0}\n"
        "tolerances: {finish: 1/8 in}\nareas:\n  yard:\n    point list: points.csv\n"
    )
    folder = tmp_path / "listed"
    folder.mkdir()
    (folder / "points.csv").write_text("point,elevation\nY1,-1\n", encoding="utf-8")
    site = Site(folder, text)
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    site.read("Y1", "51", "finish")
    os.symlink(folder / "points.csv", tmp_path / "other.csv")
    for name in (folder / "points.csv", tmp_path / "other.csv"):
        with pytest.raises(Refusal, match="belongs to the job"):
            write_daily_report(site.session, name)
    assert (folder / "points.csv").read_text(encoding="utf-8") == "point,elevation\nY1,-1\n"
    site.session.close()


@pytest.mark.parametrize("fails", ["fsync", "replace"])
@pytest.mark.parametrize("name", ["day.pdf", "day.csv"])
def test_a_sheet_that_cannot_be_written_leaves_all_as_it_was(
    job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch, fails: str, name: str
) -> None:
    for old in ("day.pdf", "day-yard.csv"):
        Path(old).write_text("yesterday's", encoding="utf-8")
    before = folder_of()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, fails, full)
    assert "could not be written (no space left on device)" in refused(capsys, "court", "-o", name)
    assert folder_of() == before
    assert {Path(old).read_text(encoding="utf-8") for old in ("day.pdf", "day-yard.csv")} == {"yesterday's"}


def test_the_first_of_several_files_is_named_where_the_second_fails(
    job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    for old in ("day-yard.csv", "day-path.csv"):
        Path(old).write_text("yesterday's", encoding="utf-8")
    real = os.replace

    def full_at_the_second(source: str, target: str, **where: Any) -> None:
        if target == "day-path.csv":
            raise OSError(28, "No space left on device")
        real(source, target, **where)

    monkeypatch.setattr(os, "replace", full_at_the_second)
    text = refused(capsys, "court", "-o", "day.csv")
    assert text.startswith("day-path.csv could not be written (no space left on device)")
    assert text.endswith("; written before it: day-yard.csv; the others are as they were.\n")
    assert Path("day-path.csv").read_text(encoding="utf-8") == "yesterday's"
    assert Path("day-yard.csv").read_text(encoding="utf-8") != "yesterday's"


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_is_said(job: Path, capsys: Out) -> None:
    Path("shut").mkdir(mode=0o555)
    assert "could not be written" in refused(capsys, "court", "-o", "shut/day.pdf")


def test_areas_with_names_that_no_file_may_have_get_files_of_their_own() -> None:
    names = exports._file_names(["a/b", "a b", "..", "*", "Garden Walk", "CON?"])
    assert names == ["a-b", "a-b--2", "area", "area--2", "garden-walk", "con"]
    assert len({name.casefold() for name in names}) == len(names)


def test_readings_of_a_struck_setup_are_told_as_not_judged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("yard").mkdir()
    plan = (
        "job: Teal Row\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8}\n"
        "areas: {walk: {points: {A: -1, B: -1, C: -1}}}\n"
    )
    Path("yard/job.yaml").write_text(plan, encoding="utf-8")
    for order in ("setup yard DOOR=50", "read yard A=51 B=51", "strike yard 2 --why kicked", "setup yard DOOR=49"):
        assert main([*order.split(), "--by", "RK"]) == 0
    assert main(["read", "yard", "C=50", "--by", "RK"]) == 0
    capsys.readouterr()
    assert main(["report", "yard"]) == 0
    assert "walk, finish: 3 of 3 read, 1 on grade; 2 not judged" in capsys.readouterr().out.splitlines()


@pytest.fixture
def two_days(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same job with a second day: Y1 read again at the base, a point found 1/8 low, and signed at the path."""
    monkeypatch.chdir(tmp_path)
    site = a_day(tmp_path / "court")
    site.start += timedelta(days=1)
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    site.read("Y1", "53-1/2")
    site.session.close()
    return Path("court")


def test_the_whole_jobs_report_has_all_days_each_reading_with_its_own(two_days: Path, capsys: Out) -> None:
    assert main(["report", "court", "--all"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Quillmere Court, 2026-05-12 to 2026-05-13: 9 readings by RK, MT."
    assert len(lines) <= 10
    assert main(["report", "court", "--all", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert (answer["title"], answer["day"], answer["weekday"]) == (
        "Report of the whole job", "2026-05-12 to 2026-05-13", "",
    )  # fmt: skip
    assert answer["trace"]["entries"] == answer["trace"]["journal_last"], "every entry is of the job"
    [yard] = [area for area in answer["areas"] if area["name"] == "yard"]
    [base] = [stage for stage in yard["stages"] if stage["stage"] == "base"]
    days = [(each["point"], each["day"]) for each in base["readings"]]
    assert days == [("Y1", "2026-05-12"), ("Y1", "2026-05-13"), ("Y2", "2026-05-12"), ("Y3", "2026-05-12")]
    assert base["earlier"] == []
    for day, read in (("2026-05-12", 8), ("2026-05-13", 1)):
        assert main(["report", "court", "--day", day]) == 0
        assert f"{read} reading" in capsys.readouterr().out.splitlines()[0]


@pytest.mark.parametrize("ending", ["pdf", "html", "csv", "json", "txt"])
def test_the_report_of_the_whole_job_is_written_as_every_ending_says(
    two_days: Path, capsys: Out, ending: str
) -> None:
    assert main(["report", "court", "--all", "-o", f"job.{ending}"]) == 0
    written = sorted(Path().glob("job*"))
    if ending == "csv":
        rows = [row for path in written for row in csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))]
        assert {row["day"] for row in rows} == {"2026-05-12", "2026-05-13"}
        assert len(rows) == 9
    elif ending == "html":
        text = written[0].read_text(encoding="utf-8")
        assert "Report of the whole job" in text
        assert re.search(r"2026-05-13 \d\d:\d\d", text)
        assert "this day" not in text.casefold()
        assert "that day" not in text


def test_a_day_and_all_days_are_not_asked_for_at_once(two_days: Path, capsys: Out) -> None:
    assert refused(capsys, "court", "--all", "--day", "2026-05-12") == "--all means all days; leave out --day.\n"
