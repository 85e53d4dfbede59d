"""`gradecheck join`: two folders with one job go on apart and are brought together in either order."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main
from gradecheck.journal import schema
from gradecheck.journal.store import JOURNAL_NAME
from tests.cli.asides import answered
from tests.journal.recovery.test_upgrade import to_older
from tests.whole import has

JOB = """\
job: Wickering Yard
units: in
benchmarks: {DOOR: 0, STEP: 2}
tolerances: {finish: 1/8 in}
areas: {walk: {points: {W1: -3, W2: -4}}}
"""

Out = pytest.CaptureFixture[str]


def laptop(name: str, patch: pytest.MonkeyPatch) -> None:
    """From here on the commands run on another laptop."""
    patch.setenv("GRADECHECK_SETTINGS", str(Path.cwd() / f"settings {name}"))


def said(capsys: Out, *words: str, code: int = 0) -> list[str]:
    """What a command says that ends so."""
    capsys.readouterr()
    assert main([*words]) == code
    printed = capsys.readouterr()
    return (printed.err if code == 2 else printed.out).splitlines()


def answer(capsys: Out, *words: str, code: int = 0) -> Any:
    """What it answers to other programs."""
    return answered("\n".join(said(capsys, *words, "--json", code=code)))


@pytest.fixture
def yards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> pytest.MonkeyPatch:
    """The job in `north`, set up and with a reading, and a copy of it in `south`, set up otherwise and read on."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    for folder in ("north", "south"):
        Path(folder).mkdir()
        Path(folder, "job.yaml").write_text(JOB, encoding="utf-8")
    laptop("north", monkeypatch)
    said(capsys, "setup", "north", "DOOR=50")
    said(capsys, "read", "north", "W1=53")
    shutil.copyfile(f"north/{JOURNAL_NAME}", f"south/{JOURNAL_NAME}")
    laptop("south", monkeypatch)
    said(capsys, "setup", "south", "STEP=40")
    said(capsys, "read", "south", "W2=46")
    return monkeypatch


def log(capsys: Out, folder: str) -> list[tuple[object, ...]]:
    """The log of a job: each entry's number, what was typed, its time."""
    return [(each["seq"], each["typed"], each["time"]) for each in answer(capsys, "log", folder)]


def test_in_either_order_both_have_the_same_log_and_nothing_twice(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    assert said(capsys, "join", "south", "north") == ["north: 0 new entries of 3 taken in."]
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    assert answer(capsys, "join", "north", "south")["taken in"] == 2
    laptop("south", yards)
    assert said(capsys, "join", "south", f"north/{JOURNAL_NAME}") == [
        f"north/{JOURNAL_NAME}: 1 new entry of 6 taken in."
    ]
    assert log(capsys, "north") == log(capsys, "south")
    assert len(log(capsys, "north")) == 6
    assert said(capsys, "join", "south", "north") == ["north: 0 new entries of 6 taken in."]
    theirs = {"north": "Of other laptops: 2 entries, each as it was written there.",
              "south": "Of other laptops: 1 entry, each as it was written there."}  # fmt: skip
    for folder, kept in theirs.items():
        assert kept in said(capsys, "verify", folder)
    assert answer(capsys, "verify", "north")["of other laptops"] == 2


def test_the_other_folder_is_only_read_even_where_its_log_is_older(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    to_older(Path("south", JOURNAL_NAME))
    laptop("north", yards)
    before = {path.name: path.read_bytes() for path in Path("south").iterdir()}
    assert answer(capsys, "join", "north", "south")["taken in"] == 2
    assert {path.name: path.read_bytes() for path in Path("south").iterdir()} == before


def test_two_that_disagree_are_told_until_someone_answers(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "correct", "south", "3", "53-1/8")
    laptop("north", yards)
    said(capsys, "strike", "north", "3", "--why", "on a stone")
    [_, conflict] = said(capsys, "join", "north", "south", code=1)
    assert conflict.startswith("Conflict at no. 3: ")
    assert "counts for now, against" in conflict
    assert answer(capsys, "join", "north", "south", code=1)["conflicts"][0]["entry"] == 3
    laptop("south", yards)
    said(capsys, "join", "south", "north", code=1)
    said(capsys, "correct", "south", "3", "53-1/16")
    laptop("north", yards)
    assert said(capsys, "join", "north", "south") == ["south: 1 new entry of 8 taken in."]


def test_a_disk_that_was_copied_is_named_and_loses_nothing(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    shutil.copytree("south", "clone")
    said(capsys, "read", "south", "W2=46-1/16")
    said(capsys, "read", "clone", "W2=46-1/8")
    [taken, parted] = said(capsys, "join", "south", "clone")
    assert taken == "clone: 1 new entry of 6 taken in."
    assert has(parted, "went on twice from its entry 5")
    assert len(log(capsys, "south")) == 7


def test_a_log_of_another_job_is_refused_and_nothing_is_taken_in(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("other").mkdir()
    Path("other", "job.yaml").write_text(JOB.replace("Wickering", "Larkmoor"), encoding="utf-8")
    said(capsys, "setup", "other", "DOOR=50")
    before = Path("south", JOURNAL_NAME).read_bytes()
    [line] = said(capsys, "join", "south", "north", "other", code=2)
    assert line == "other is the log of another job: no entry and no plan in it is of this one."
    assert Path("south", JOURNAL_NAME).read_bytes() == before


@pytest.mark.parametrize("into", ["the job", "the rehearsal"])
def test_a_rehearsal_and_work_are_never_one_log(into: str, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    said(capsys, "rehearse", "south", "-o", "made-up", "--readings", "4", "--days", "1")
    job, other = ("south", "made-up") if into == "the job" else ("made-up", "south")
    before = Path(job, JOURNAL_NAME).read_bytes()
    [line] = said(capsys, "join", job, other, code=2)
    whose = "made-up is a rehearsal" if into == "the job" else "This is a rehearsal"
    assert line == f"{whose}; it is not joined to real work, so that nobody takes it for work. Nothing was taken in."
    assert Path(job, JOURNAL_NAME).read_bytes() == before


def test_a_laptop_is_called_by_the_name_its_settings_give_it(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("settings north", "settings.toml").write_text('laptop = "north crew"\n', encoding="utf-8")
    laptop("north", yards)
    said(capsys, "mark", "north", "TP1=45")
    laptop("south", yards)
    said(capsys, "join", "south", "north")
    said(capsys, "setup", "south", "TP1 of north crew=30")
    assert answer(capsys, "log", "south")[-1]["subject"] == "on TP1 of north crew, rod"


def test_two_that_began_apart_on_one_plan_are_one_job(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    Path("west").mkdir()
    Path("west", "job.yaml").write_text(JOB, encoding="utf-8")
    laptop("west", yards)
    said(capsys, "setup", "west", "DOOR=45")
    said(capsys, "read", "west", "W2=49")
    assert answer(capsys, "join", "west", "south")["taken in"] == 5
    laptop("south", yards)
    assert answer(capsys, "join", "south", "west")["taken in"] == 3
    assert log(capsys, "south") == log(capsys, "west")


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ("nowhere", "There is no log at nowhere/journal.db; check the name."),
        ("south", "is the log of this job itself"),
    ],
)
def test_what_is_no_other_log_is_refused_in_a_sentence(
    yards: pytest.MonkeyPatch, capsys: Out, other: str, says: str
) -> None:
    [line] = said(capsys, "join", "south", other, code=2)
    assert says in line


def test_a_row_that_was_changed_is_named_and_not_taken_in(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    laptop("third", yards)
    Path("third").mkdir()
    shutil.copyfile("north/job.yaml", "third/job.yaml")
    shutil.copyfile(f"north/{JOURNAL_NAME}", f"third/{JOURNAL_NAME}")
    assert answer(capsys, "join", "third", "south")["taken in"] == 2
    with contextlib.closing(sqlite3.connect(f"third/{JOURNAL_NAME}", isolation_level=None)) as connection:
        connection.execute("DROP TRIGGER theirs_never_changed")
        connection.execute("UPDATE theirs SET typed = '47' WHERE place = 2")
        connection.execute(schema.THEIRS_NEVER_CHANGED)
    laptop("north", yards)
    taken, unsound, *_ = said(capsys, "join", "north", "third", code=1)
    assert taken == "third: 1 new entry of 4 taken in."
    assert unsound == "Not taken in: entry 5: its content was changed after it was written."
    said(capsys, "verify", "third", code=1)


def test_what_waits_for_a_missing_entry_is_told_and_counts_later(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    with contextlib.closing(sqlite3.connect(f"south/{JOURNAL_NAME}")) as connection:
        rows = connection.execute("SELECT * FROM entry ORDER BY seq").fetchall()
    Path("cut").mkdir()
    with contextlib.closing(sqlite3.connect(f"cut/{JOURNAL_NAME}", isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id={schema.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version={schema.FORMAT}")
        for statement in schema.STATEMENTS:
            connection.execute(statement)
        connection.executemany(schema.INSERT, rows[:3])
        connection.execute(schema.INSERT_THEIRS, (1, *rows[4]))
    laptop("north", yards)
    [taken, waits] = said(capsys, "join", "north", "cut", code=1)
    assert taken == "cut: 1 new entry of 4 taken in."
    assert waits.startswith("1 entry of laptop ")
    assert waits.endswith("waits for entries that are not here yet; join the laptop that has them.")
    assert len(log(capsys, "north")) == 3
    assert said(capsys, "join", "north", "south") == ["south: 1 new entry of 5 taken in."]
    assert len(log(capsys, "north")) == 5


def test_a_job_agrees_with_one_it_took_in_or_says_where_they_differ(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53 1/16")
    assert said(capsys, "verify", "north", "--against", "south", code=1)[0] == (
        "Not sound: from entry 4 on it differs from south"
    )
    said(capsys, "join", "north", "south")
    reply = answer(capsys, "verify", "north", "--against", "south")
    assert {each["outcome"] for each in reply["compared"]} == {"agrees"}


def test_a_laptop_with_no_entry_of_its_own_yet_takes_in_those_of_another(
    yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    laptop("west", yards)
    Path("west").mkdir()
    Path("west", "job.yaml").write_text(JOB, encoding="utf-8")
    assert answer(capsys, "join", "west", "south")["taken in"] == 5
    assert log(capsys, "west") == log(capsys, "south")
    said(capsys, "setup", "west", "DOOR=45")
    assert len(log(capsys, "west")) == 6


def test_the_ten_lines_of_a_joined_day_name_each_person_once(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    settings = Path.cwd() / "settings south"
    settings.mkdir(exist_ok=True)
    (settings / "settings.toml").write_text('laptop = "south crew"\n')
    said(capsys, "read", "south", "W2=54", "--by", "JM")
    said(capsys, "join", "north", "south")
    first = said(capsys, "report", "north")[0]
    assert first.endswith("readings by RK, JM."), first


def test_a_copied_log_goes_on_under_the_name_in_the_settings(yards: pytest.MonkeyPatch, capsys: Out) -> None:
    yards.delenv("GRADECHECK_BY")
    for name, initials in (("north", "NO"), ("west", "WE")):
        Path(f"settings {name}").mkdir(exist_ok=True)
        Path(f"settings {name}", "settings.toml").write_text(f'initials = "{initials}"\n', encoding="utf-8")
    Path("west").mkdir()
    Path("west", "job.yaml").write_text(JOB, encoding="utf-8")
    shutil.copyfile(f"north/{JOURNAL_NAME}", f"west/{JOURNAL_NAME}")
    laptop("west", yards)
    said(capsys, "read", "west", "W1=53")
    assert answer(capsys, "log", "west")[-1]["by"] == "WE"
    said(capsys, "read", "west", "W1=53", "--by", "LM")
    said(capsys, "read", "west", "W1=53")
    assert answer(capsys, "log", "west")[-1]["by"] == "LM", "whoever recorded last here goes on"
    laptop("north", yards)
    said(capsys, "read", "north", "W1=53")
    assert answer(capsys, "log", "north")[-1]["by"] == "RK"


def test_a_plain_name_is_one_s_own_mark_and_never_makes_another_s_anew(
    yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    Path("settings north").mkdir(exist_ok=True)
    for name in ("north", "south"):
        Path(f"settings {name}", "settings.toml").write_text(f'laptop = "{name}"\n', encoding="utf-8")
    laptop("north", yards)
    said(capsys, "mark", "north", "TP1=45")
    laptop("south", yards)
    said(capsys, "join", "south", "north")
    # The laser of south stands at 2 + 40 = 42: TP1 there is 42 - 30 = 12.
    assert answer(capsys, "mark", "south", "TP1=30")["elevation"]["text"] == "12 in"
    [asked] = said(capsys, "mark", "south", "TP1=31", code=2)
    assert asked.startswith("TP1 of south is a mark already")
    [refused] = said(capsys, "mark", "south", "TP1 of north=31", code=2)
    assert refused == "TP1 of north was made on another laptop; give your spot another name."
    for typed in ("TP1=32", "TP1 of south=32"):
        made = answer(capsys, "mark", "south", typed, "--again")
        assert (made["mark"], made["elevation"]["text"]) == ("TP1 of south", "10 in")


def test_a_point_made_a_mark_in_a_joined_job_is_still_read_as_the_point(
    yards: pytest.MonkeyPatch, capsys: Out
) -> None:
    laptop("south", yards)
    said(capsys, "join", "south", "north")
    said(capsys, "mark", "south", "W2")
    assert said(capsys, "read", "south", "W2=46")[0].split()[:4] == ["W2", "finish", "ON", "GRADE"]
    said(capsys, "setup", "south", "W2=30")


def test_the_mark_of_a_datum_is_one_spot_whichever_laptop_shot_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    text = JOB + "datums: {curb: {mark: PIN, reads: 100}}\n"
    text = text.replace("areas: {", "areas: {deck: {datum: curb, points: {D1: 99}}, ")
    for name in ("north", "south"):
        Path(name).mkdir()
        Path(name, "job.yaml").write_text(text, encoding="utf-8")
        laptop(name, monkeypatch)
        said(capsys, "setup", name, "DOOR=50")
    laptop("north", monkeypatch)
    said(capsys, "mark", "north", "PIN=45")
    said(capsys, "join", "north", "south")
    laptop("south", monkeypatch)
    said(capsys, "join", "south", "north")
    for name in ("north", "south"):
        laptop(name, monkeypatch)
        # PIN lies at 50 - 45 = 5 and reads 100 there: D1 at 99 lies at 4, where the rod reads 46.
        assert said(capsys, "datum", name)[-1] == "  curb: tied"
        assert said(capsys, "read", name, "D1=46")[0].split()[:4] == ["D1", "finish", "ON", "GRADE"]
        said(capsys, "setup", name, "PIN=40")
    said(capsys, "mark", "south", "PIN=35", "--again")
    assert said(capsys, "datum", "south")[-1] == "  curb: tied"
