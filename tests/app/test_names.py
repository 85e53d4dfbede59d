"""Names, notes and reasons are text: whatever they hold is shown as it is, does nothing, and ends nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.plain import clean
from gradecheck.app.screens.problems import ProblemsScreen
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.cli import main
from gradecheck.cli.evening import row_line
from gradecheck.cli.shared import assignment
from gradecheck.measure.notation import Units
from gradecheck.report.review import StageRow
from gradecheck.report.spreadsheet import safe_cell
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import (
    JOB,
    SCREENS,
    Clock,
    app_for,
    go_to,
    point,
    press,
    readings,
    ready_job,
    recorded,
    running,
    settle,
    shown,
    strips,
    typed,
    verdict,
    words,
)
from tests.thorough import some

CLOSING = "[/]"
LINK = "[@click=app.quit]X[/]"
OPEN_TAG = "slab[b"
BACKSLASH = "end\\"
COLOUR = "[red]cut[/red]"
VARIABLE = "$error {0}%s"
FORMULA = "=1+2"


def hostile_job() -> str:
    """A job in which every text is one that some reader of markup would stumble over."""
    return yaml.safe_dump(
        {
            "job": f"{CLOSING} {LINK} {BACKSLASH}",
            "units": "in",
            "rods": {LINK: {"kind": "standard", "graduation": "1/16 in"}, OPEN_TAG: {"kind": "direct"}},
            "benchmarks": {
                "DOOR": {"elevation": "0", "what": LINK},
                "M[/]": {"elevation": "-1", "what": BACKSLASH},
                "N[b": {"elevation": "-2", "what": COLOUR},
            },
            "build-ups": {CLOSING: [{"paver": "2 in"}, {OPEN_TAG: "2 in"}, {BACKSLASH: "1 in"}]},
            "tolerances": {"subgrade": "1/2 in", OPEN_TAG: "1/4 in", BACKSLASH: "1/4 in", "finish": "1/8 in"},
            "areas": {
                LINK: {
                    "build-up": CLOSING,
                    "points": {
                        "P[/]": {"elevation": "-1", "what": CLOSING},
                        "Q[b": {"elevation": "-1 1/2", "what": LINK},
                        "R\\": {"elevation": "-2", "what": BACKSLASH},
                        "S[x]": {"elevation": "-2 1/2", "what": COLOUR},
                        "T": {"elevation": "-3", "what": OPEN_TAG},
                        "U": {"elevation": "-3", "what": VARIABLE},
                        "V": {"elevation": "-3", "what": FORMULA},
                    },
                },
                BACKSLASH: {"points": {"W": "-1"}},
            },
        },
        sort_keys=False,
        allow_unicode=True,
    )


def assert_harmless(app: GradeApp) -> None:
    """Nothing on the screen can be clicked, and nothing of ours would be obeyed by a terminal."""
    for strip in strips(app):
        for segment in strip:
            actions = [key for key in segment.style.meta if key.startswith("@")] if segment.style else []
            assert actions == [], segment
            assert segment.text.isprintable(), segment


VISIBLE: dict[str, tuple[str, ...]] = {
    "jobs": (f"court: {CLOSING} {LINK} {BACKSLASH} (2 areas, 8 points, in)",),
    "board": (f"{CLOSING} {LINK} {BACKSLASH}  setup on DOOR",),
    "opening": (" court", "entries so far"),
    "cautions": (f" {CLOSING} {LINK} {BACKSLASH} · before you start today",),
    "check": (
        f" {LINK}  finish",
        *(f" {name}" for name in ("P[/] ", "Q[b ", "R\\ ", "S[x] ")),
        *(f" {what} " for what in (CLOSING, LINK, BACKSLASH, COLOUR, OPEN_TAG, VARIABLE, FORMULA)),
        f"P[/] ({CLOSING}): the rod should read 51",
    ),
    "edit": (f"{CLOSING} {LINK} {BACKSLASH} · edit · the whole plan", f"areas          {LINK}, {BACKSLASH}"),
    "import": (f"{CLOSING} {LINK} {BACKSLASH} · import a list or drawing",),
    "join": (f"{CLOSING} {LINK} {BACKSLASH} · join another laptop",),
    "set up": (
        f"{CLOSING} {LINK} {BACKSLASH}  SETTING UP",
        "M[/] ",
        "N[b ",
        f"   {LINK}",
        f"   {BACKSLASH}",
        f"what does the {LINK} (standard, in) read there?",
        f"Current setup: {LINK} on DOOR 50 in",
    ),
    "recheck": (LINK, "M[/] ", "N[b ", COLOUR),
    "mark": (LINK, "M[/] ", "N[b ", COLOUR),
    "put right": (LINK, "M[/] ", "N[b ", COLOUR),
    "instrument": (f"{CLOSING} {LINK} {BACKSLASH} · ",),
    "doubt": ("P[/] ",),
    "log": (f"log of {LINK}", "on DOOR, [@click=app.quit]X[/]"),
    "layout": (f"{CLOSING} {LINK} {BACKSLASH} · layout",),
    "map": (f" {LINK} · subgrade · map", "P[/]", "Q[b"),
    "day": (f"{CLOSING} {LINK} {BACKSLASH} · all days",),
    "other folder": (f"{CLOSING} {LINK} {BACKSLASH} · go on in another folder",),
    "plan": (f"{CLOSING} {LINK} {BACKSLASH} · plan · {LINK}", f"To add or change in {LINK}:"),
    "keys": ("Keys · Check",),
    "problems": ("court",),
    "findings": ("court · findings on job.yaml",),
    "new": (" a new job in jobs",),
}


@pytest.mark.parametrize("screen", some(SCREENS))
async def test_hostile_names_are_shown_as_they_are_on(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock, hostile_job())
    async with running(app, (140, 44)) as pilot:
        await go_to(pilot, screen)
        # The first area's lowest surface comes up first; its finish is what the texts above are about.
        if screen == "check":
            await press(pilot, "f3", "f3", "f3")
        for text in VISIBLE[screen]:
            assert text in shown(app), shown(app)
        assert_harmless(app)
    assert app.return_code is None, "nothing on the screen has left the app"


async def test_points_with_hostile_names_are_reached_read_and_struck(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock, hostile_job())
    async with running(app, (140, 30)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "f3", "f3", "f3", "q[B", "enter")
        assert point(app) == "Q[b"
        await press(pilot, "51-1/2", "enter")
        assert verdict(app) == "ON GRADE"
        assert words(app, "verdict").startswith(f"━━ Q[b  finish  {LINK} ━")
        assert "found −1 1/2 in" in words(app, "verdict")
        assert words(app) == f"R\\ ({BACKSLASH}): the rod should read 52"
        assert_harmless(app)
        await press(pilot, "f8")
        assert words(app).startswith("Struck: Q[b finish, rod 51-1/2.")
        for text in ("W[/]", f"no{OPEN_TAG}", f"no{BACKSLASH}"):
            await press(pilot, text, "enter")
            assert words(app).startswith(f"There is no point “{text}” in this job.")
            assert typed(app) == text
            assert_harmless(app)
            await press(pilot, "escape")
            assert words(app) == f"“{text}” was not entered. Escape again goes back."
        await press(pilot, "m[/]", "enter")
        assert words(app) == "M[/] is a benchmark; press F4 to set up on it."
        assert_harmless(app)
    assert readings(jobs / "court") == [("Q[b", "finish", "51-1/2")]


async def test_notes_and_reasons_are_kept_and_shown_word_for_word(app: GradeApp, job: Path) -> None:
    texts = (CLOSING, LINK, f"to the {OPEN_TAG}", BACKSLASH, COLOUR, VARIABLE, FORMULA)
    async with running(app, (140, 24)) as pilot:
        await press(pilot, "f6")
        for text in texts:
            await press(pilot, text, "enter")
            assert f"note      {text}" in shown(app)
            await press(pilot, "f8")
            await press(pilot, text, "enter")
            assert f": {text}" in shown(app)
            assert_harmless(app)
    assert recorded(job)[3:] == [(kind, text) for text in texts for kind in ("note", "void")]


async def test_escape_codes_from_a_paste_are_neither_obeyed_nor_shown(app: GradeApp, job: Path) -> None:
    from textual import events

    async with running(app, (140, 24)) as pilot:
        await press(pilot, "f6")
        app.screen.focused.post_message(events.Paste("red \x1b[31m title \x1b]0;x\x07 \u202eback"))
        await settle(pilot)
        assert_harmless(app)
        await press(pilot, "enter")
        assert_harmless(app)
        assert "note      red" in shown(app)
        assert len(recorded(job, "note")) == 1


async def test_what_a_broken_job_file_says_of_hostile_texts_is_text(jobs: Path, clock: Clock) -> None:
    text = hostile_job().replace("units: in", f"units: '{LINK}'\n'{CLOSING}': {OPEN_TAG}")
    app = app_for("jobs", jobs, clock, text)
    async with running(app, (140, 30)) as pilot:
        await press(pilot, "enter")
        assert isinstance(app.screen, ProblemsScreen)
        assert LINK in shown(app)
        assert CLOSING in shown(app)
        assert_harmless(app)


async def test_the_folder_of_a_job_is_text_too(jobs: Path, clock: Clock) -> None:
    write = jobs / "[red]yard[b"
    write.mkdir(parents=True)
    (write / "job.yaml").write_text("job: [", encoding="utf-8")
    app = GradeApp(jobs, clock=clock)
    async with running(app, (140, 30)) as pilot:
        assert "[red]yard[b: 1 problem in its plan" in shown(app)
        await press(pilot, "enter")
        assert " [red]yard[b · fix these" in shown(app)
        assert_harmless(app)


def test_what_can_not_be_seen_is_shown_as_a_character_that_can() -> None:
    for hidden in ("\x1b", "\x9b", "\u00ad", "\u061c", "\u200d", "\u202e", "\u2028", "\ue000", "\ud83e"):
        assert clean(f"a{hidden}b") == "a\N{REPLACEMENT CHARACTER}b"
    assert clean("a\udcffb") == r"a\xffb", "a byte of a folder's name that is no UTF-8"
    for seen in ("e\u0301", "現場", "שלום", "a\N{NO-BREAK SPACE}b", "\U0001f9f1"):
        assert clean(seen) == seen


async def test_wide_names_leave_the_end_of_the_head_where_it_can_be_read(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock, JOB.replace("  path:", f"  {'現' * 24}:", 1))
    async with running(app):
        assert shown(app).splitlines()[0].endswith("setup on DOOR 07:30  RK")


def test_files_for_others_hold_nothing_that_a_terminal_would_obey() -> None:
    assert safe_cell("a\x1b]0;x\x07") == "a\N{REPLACEMENT CHARACTER}]0;x\N{REPLACEMENT CHARACTER}"
    assert safe_cell("=\x1b1") == "'=\N{REPLACEMENT CHARACTER}1"


def test_a_name_may_have_an_equals_sign_in_it() -> None:
    assert assignment("P=1=48-1/4", Units.IN) == ("P=1", "48-1/4")


def test_marks_with_an_equals_sign_in_their_names_are_shot_and_corrected(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, JOB.replace("PIN:", "P=N:").replace("P1:", "P=1:"))
    session = Session(job, by="RK", clock=clock)
    try:
        stood = session.record(actions.set_up(session.state, "P=N", "54-3/8"))
        session.record(session.correct(stood.id, "P=N=54-1/4"))
        session.record(actions.reading(session.state, Surface("path", "P=1", "finish"), "51"))
    finally:
        session.close()
    assert main(["recheck", str(job), "DOOR=50"]) in (0, 1)  # so that a setup of another day may be read from
    assert main(["mark", str(job), "T=1=48"]) == 0
    assert [typed for kind, typed in recorded(job) if kind in ("recheck", "mark")] == ["DOOR=50", "T=1=48"]


def test_a_name_that_is_cut_in_the_review_says_so() -> None:
    row = StageRow("x" * 24, "finish", 1, 1, 1, 0, 0, 0, 0, "", 0, 0, "")
    assert row_line(row).startswith(f"{'x' * 16}… finish ")


async def test_a_sentence_that_breaks_between_words_is_there_to_its_last_word(app: GradeApp) -> None:
    async with running(app, (40, 24)) as pilot:
        words_line = app.screen.query_one("#says", SentenceLines)
        words_line.say(f"{'a' * 20} {'b' * 20}")
        await settle(pilot)
        words_line.say(f"{'a' * 20} {'b' * 20} {'c' * 20}")  # two lines of letters, three of words
        await settle(pilot)
        assert "c" * 20 in shown(app)
