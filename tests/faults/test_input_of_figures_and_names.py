"""Every way a figure, a name or a file given on site is known to do harm: answered in one sentence, and nothing done.

Figures and names go in by the commands, as they would be keyed; one test keys them into the app.
"""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.cli import main
from tests.app.driving import (
    Clock,
    point,
    press,
    readings,
    ready_job,
    recorded,
    settle,
    typed,
    words,
    write_job,
)
from tests.app.test_names import assert_harmless, hostile_job
from tests.faults.sent_in import Out, refused
from tests.plan.sample import harmless
from tests.thorough import every

ESCAPES = "\x1b]52;c;AAAA\x07\x1b]0;title\x07\x1b[2J\x9b2J\u202e\u200b"


# -- figures

TAKEN = {
    "\N{MINUS SIGN}1/2": "-1/2",
    "51½": "51 1/2",
    "⅜": "3/8",
    "4' 3\"": "51",
    "5 3/16 in": "5 3/16",
    "010": "10",
    "08": "8",
    "3/16": "3/16",
    "76.2 MM": "3",
    "0.0762 M": "3",
}
"""What is understood, and the inches it means."""
NO_FIGURES = (
    *("1:30", "1_000", "no", "on", "2026-01-01", "1e3", "1.e+3", "0o10", "0x10", "nan", ".inf", "inf", "1e400", "#3"),
    *("True", "b'1.5'", "\N{FULLWIDTH DIGIT FIVE}\N{FULLWIDTH DIGIT ONE}", "\N{ARABIC-INDIC DIGIT FIVE}", "⅓", "½½"),
    *("1 000 ft", "1.2.3 ft", "1:48", "--3", "\N{MINUS SIGN}-3", "10**10**10", "3 10**10**10", "3 in**9**9", "9^9^9"),
    *("1e30000000", "1e-30000000", "3 PT", "3 min", "3 Mm^2", "3 rod", "9" * 5000, "0." + "3" * 5000, "51\n", "5\t1"),
    *("51\x1b[2J", "51\u200b", "\u202e51", "5" + " " * 5000 + "1x", "[/]", "[@click=app.quit]51[/]", "1/0", "51/16"),
)


@pytest.mark.parametrize(("keyed", "inches"), TAKEN.items())
def test_true_minus_small_fractions_and_feet_with_inches_are_read(
    court: Path, capsys: Out, keyed: str, inches: str
) -> None:
    assert main(["mark", str(court), f"SPOT={keyed}"]) == 0
    assert main(["log", str(court), "--csv"]) == 0
    assert main(["mark", str(court), f"OTHER={inches}"]) == 0
    with contextlib.closing(sqlite3.connect(court / "journal.db")) as connection:
        facts = connection.execute("SELECT typed, fact ->> 'rod' FROM entry WHERE kind = 'mark' ORDER BY seq")
        (as_keyed, one), (_, other) = facts.fetchall()
    assert as_keyed == f"SPOT={keyed}", "the text is kept as it was keyed"
    assert one == other


@pytest.mark.parametrize("keyed", every(4, NO_FIGURES), ids=lambda keyed: repr(keyed[:20]))
def test_what_no_rod_shows_is_refused_and_nothing_is_written(court: Path, capsys: Out, keyed: str) -> None:
    before = (court / "journal.db").read_bytes()
    sentence = refused(capsys, "read", str(court), f"P1={keyed}")
    assert any(figure.isdigit() for figure in sentence), "an example shows how to write it"
    assert (court / "journal.db").read_bytes() == before


async def test_what_no_rod_shows_stays_in_the_box_of_the_app(tmp_path: Path) -> None:
    clock = Clock()
    yard = ready_job(tmp_path / "jobs" / "yard", clock)
    app = GradeApp(yard.parent, yard, clock=clock)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        for keyed in (
            "1e3",
            "1 000",
            "5１",
            "1.2.3",
            "10**10**10",
            "3 PT",
            "51/16",
            "3,250",
            "1e30000000",
            "9" * 200,
        ):
            await press(pilot, keyed, "enter")
            assert typed(app) == keyed
            assert words(app)
            assert point(app) == "P1"
            assert_harmless(app)
            await press(pilot, "escape")
        assert readings(yard) == []
        await press(pilot, "51", "enter")
        await press(pilot, "\N{MINUS SIGN}1/2", "enter")
        assert "Enter again keeps it; or enter another" in words(app), "below the rod's foot is far from likely"
        await press(pilot, "enter")
    assert readings(yard) == [("P1", "finish", "51"), ("P2", "finish", "\N{MINUS SIGN}1/2")]


@pytest.mark.parametrize("how", ["fall -2% over 12 ft", "rise \N{MINUS SIGN}2% over 12 ft"])
def test_a_fall_with_a_minus_is_refused_on_site_too(court: Path, capsys: Out, how: str) -> None:
    sentence = refused(capsys, "add", str(court), "path", "N1", f"from P1 {how}")
    assert "without a minus; the words fall and rise give the direction." in sentence


@pytest.mark.parametrize(
    "how",
    [
        "from P1" + " fall x" * 20_000,
        "from P1" + " fall 1% over" * 10_000,
        "from P1 fall 10**10**10 over 12 ft",
        "from P1 fall 2% over 1e30000000",
        "from P1 down 3 x 10**10**10",
        "at 1e30000000, 2",
    ],
    ids=lambda how: how[:30],
)
def test_a_way_to_a_point_that_would_keep_a_reader_busy_is_refused(court: Path, capsys: Out, how: str) -> None:
    refused(capsys, "add", str(court), "path", "N1", how)


def test_a_tolerance_that_would_keep_a_reader_busy_is_refused(court: Path, capsys: Out) -> None:
    busy = "1" + " high 1" * 20_000
    sentence = refused(capsys, "change", str(court), f"path={busy}", "--stage", "finish", "--why", "tried")
    assert "a tolerance is short: 3/8, or 1/2 high 1/4 low." in sentence


# -- names and words


def test_markup_in_a_name_is_text_to_every_command(here: Path, capsys: Out) -> None:
    folder = write_job(here / "hostile", hostile_job())
    assert main(["setup", str(folder), "DOOR=50"]) == 0
    assert main(["read", str(folder), "P[/]=51", "Q[b=51-1/2", "--stage", "finish"]) == 0
    for arguments in (["targets"], ["log"], ["plan"], ["review"], ["examine"]):
        main([arguments[0], str(folder), *arguments[1:]])
    said = capsys.readouterr()
    assert all(text in said.out for text in ("[@click=app.quit]X[/]", "P[/]", "Q[b", "end\\", "[red]cut[/red]"))
    assert harmless(said.out.replace("\n", ""))


async def test_a_mark_named_like_markup_is_a_name_and_does_nothing(tmp_path: Path) -> None:
    clock = Clock()
    yard = ready_job(tmp_path / "jobs" / "yard", clock)
    app = GradeApp(yard.parent, yard, clock=clock)
    async with app.run_test(size=(120, 24), notifications=True) as pilot:
        await settle(pilot)
        for name in ("slab[b]", "X[/]", "A[@click=app.quit]b[/]"):
            await press(pilot, "f7")
            await press(pilot, name, "enter")
            assert name in words(app)
            assert_harmless(app)
            await press(pilot, "49", "enter")
            assert_harmless(app)
            await press(pilot, "escape")
    assert [text.rpartition("=")[0] for _, text in recorded(yard, "mark")] == [
        "slab[b]",
        "X[/]",
        "A[@click=app.quit]b[/]",
    ]


def test_terminal_escapes_in_what_is_keyed_reach_no_output(court: Path, capsys: Out) -> None:
    assert main(["read", str(court), "P1=51"]) == 0
    assert main(["day", str(court), f"sun{ESCAPES}", f"RK{ESCAPES}"]) in (0, 2)
    assert main(["strike", str(court), "2", "--why", f"slip{ESCAPES}"]) in (0, 2)
    for arguments in (
        ["log", str(court)],
        ["log", str(court), "--csv"],
        ["log", str(court), "--json"],
        ["report", str(court)],
        ["report", str(court), "--json"],
        ["read", str(court), f"P1{ESCAPES}=3"],
        ["read", str(court), f"P1=3{ESCAPES}"],
        ["strike", str(court), ESCAPES, "--why", "x"],
        ["sign", str(court), ESCAPES, "finish"],
        ["log", str(court), "--area", ESCAPES],
        ["log", str(court), "--day", ESCAPES],
        ["targets", ESCAPES],
        ["rehearse", str(court), "-o", ESCAPES, "--readings", "5"],
    ):
        main(arguments)
    with pytest.raises(SystemExit):
        main(["log", str(court), ESCAPES])
    with pytest.raises(SystemExit):
        main(["read", str(court), "--by", "RK", f"--{ESCAPES}"])
    said = capsys.readouterr()
    assert "unrecognized arguments" in said.err
    assert harmless(said.out.replace("\n", ""))
    assert harmless(said.err.replace("\n", ""))


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("P\N{CYRILLIC SMALL LETTER A}", "type it in one alphabet."),
        ("\N{CYRILLIC CAPITAL LETTER ER}1", "looks like “P1”, in another alphabet; type a name of its own."),
        ("N\N{ZERO WIDTH SPACE}1", ""),
        ("P1", "already"),
        ("p1", "already"),
    ],
    ids=["mixed", "other-alphabet", "invisible", "same", "small-letters"],
)
def test_look_alike_names_are_refused_when_keyed_for_a_point_or_a_mark(
    court: Path, capsys: Out, name: str, says: str
) -> None:
    assert says in refused(capsys, "add", str(court), "path", name, "-3")
    assert says in refused(capsys, "mark", str(court), f"{name}=49")


def test_a_name_keyed_with_its_accent_apart_is_the_same_name(court: Path, capsys: Out) -> None:
    assert main(["mark", str(court), "Cafe\N{COMBINING ACUTE ACCENT}=49"]) == 0
    capsys.readouterr()
    assert "Café" in refused(capsys, "add", str(court), "path", "Café", "-3")
