"""The commands that carry the zero: what they print and answer, how they end, and that a refusal writes nothing."""

from __future__ import annotations

import functools
import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.session.session import Session
from tests.cli.test_cli import MORNING, Out, answer, journal, length, said
from tests.test_zero import FEET_JOB, OFFICE_JOB, PEGS

REQUIRED = ("--by", "RK")


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The clock stands still until its one moment is replaced."""
    moment = [MORNING]
    monkeypatch.setattr("gradecheck.cli.shared.Session", functools.partial(Session, clock=lambda: moment[0]))
    monkeypatch.delenv("GRADECHECK_BY", raising=False)
    return moment


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job with two datums that says what its instrument is good for; entry 2 is a setup with its plane at 48."""
    monkeypatch.chdir(tmp_path)
    folder = Path("yard")
    folder.mkdir()
    (folder / "job.yaml").write_text(OFFICE_JOB, encoding="utf-8")
    assert main(["setup", "yard", "DOOR=48", *REQUIRED, "--json"]) == 0
    return folder


@pytest.fixture
def quiet(yard: Path, capsys: Out) -> Path:
    """The same, with nothing printed yet."""
    capsys.readouterr()
    return yard


# -- setup and move


def test_setup_on_several_marks_tells_each_and_how_they_agree(quiet: Path, capsys: Out) -> None:
    assert said(capsys, "setup", "yard", "DOOR=48", "kerb=52-1/16") == [
        "site rod on DOOR 48 in, KERB 52 1/16 in; HI 48 1/16 in",
        "They agree within 1/16 in (allowed 1/8 in); the mean is taken. Setup uncertainty ±5/32 in.",
    ]
    reply = answer(capsys, "setup", "yard", "DOOR=48", "KERB=52-1/16")
    assert (reply["seq"], reply["rod"], reply["agree"]) == (4, "site rod", True)
    assert reply["plane"]["mm"] == pytest.approx(48 * 25.4 + 25.4 / 32)
    assert reply["from"] == {"DOOR": length(1219.2, "48 in"), "KERB": length(1220.7875, "48 1/16 in")}
    assert reply["spread"] == length(1.5875, "1/16 in")


def test_no_figure_in_json_reads_as_the_limit_it_fails(quiet: Path, capsys: Out) -> None:
    """9/64 in is more than the 1/8 in allowed, and nearer to that than to any other mark of the rod."""
    (told,) = answer(capsys, "read", "yard", "W1=48-23/64")
    assert (told["verdict"], told["difference"]) == ("CUT", length(25.4 * 9 / 64, "3/16 in"))
    (told,) = answer(capsys, "read", "yard", "W1=48-3/8")
    assert (told["verdict"], told["difference"]) == ("ON GRADE", length(25.4 / 8, "1/8 in"))
    told = answer(capsys, "recheck", "yard", "DOOR=47-55/64", code=1)
    assert (told["good"], told["off"]) == (False, length(25.4 * 9 / 64, "3/16 in"))


def test_setup_on_three_marks_that_disagree_ends_with_1_and_names_the_one(quiet: Path, capsys: Out) -> None:
    said(capsys, "mark", "yard", "TP1=40")
    sights = ("DOOR=48", "KERB=53", "TP1=40")
    (_, line) = said(capsys, "setup", "yard", *sights, code=1)
    assert line.startswith("THEY DISAGREE by 1 in (allowed 1/8 in). KERB is the odd one.")
    assert answer(capsys, "setup", "yard", *sights, code=1)["agree"] is False


def test_setup_with_a_sloped_beam_needs_the_places_of_its_marks(quiet: Path, capsys: Out) -> None:
    said(capsys, "setup", "yard", "DOOR=48", "--falls", "1/4 in/ft", "--at", "2 ft,3 ft")
    (line,) = said(capsys, "read", "yard", "W1=47-1/2")
    assert "ON GRADE" in line
    before = journal(quiet)
    assert main(["setup", "yard", "KERB=52", "--falls", "2%,1%"]) == 2
    assert "needs to know where KERB lies" in capsys.readouterr().err
    assert main(["read", "yard", "C1=51"]) == 2
    assert "The beam is sloped: give C1 its place" in capsys.readouterr().err
    assert journal(quiet) == before


def test_move_leaves_nothing_to_read_from_until_the_next_setup(quiet: Path, capsys: Out) -> None:
    reply = answer(capsys, "move", "yard", "--why", "spoil heap")
    assert reply == {"entry": 3, "why": "spoil heap"}
    before = journal(quiet)
    for arguments, says in (
        (("read", "yard", "W1=48-1/2"), "The laser was moved; finish the new setup before you read on."),
        (("mark", "yard", "TP1=40"), "The laser was moved; finish the new setup before you read on."),
        (("recheck", "yard", "DOOR=48"), "No setup; set up on a mark first."),
        (("move", "yard"), "No setup; there is nothing to move."),
    ):
        assert main(arguments) == 2
        assert capsys.readouterr().err == f"{says}\n"
    assert journal(quiet) == before
    said(capsys, "setup", "yard", "KERB=52")
    assert "ON GRADE" in said(capsys, "read", "yard", "W1=48-1/2")[0]


# -- recheck


def test_recheck_tells_what_it_is_off_by_and_what_is_in_doubt(quiet: Path, capsys: Out) -> None:
    said(capsys, "read", "yard", "W1=48-1/2")
    reply = answer(capsys, "recheck", "yard", "KERB=52-1/8")
    assert reply.pop("decides") == "Local code and the drawings decide."
    assert reply == {
        "entry": 4,
        "mark": "KERB",
        "off": length(-3.175, "-1/8 in"),
        "good": True,
        "in doubt": [],
    }
    said(capsys, "read", "yard", "C1=51")
    assert said(capsys, "recheck", "yard", "door=48-1/4", code=1) == [
        "DOOR is OFF BY −1/4 in (allowed 1/8 in): 1 reading in doubt since the last good recheck. Set up again."
    ]
    assert main(["read", "yard", "C2=51-1/4"]) == 2
    assert "may have moved; set up again" in capsys.readouterr().err
    (line,) = [row for row in answer(capsys, "log", "yard") if row["subject"] == "C1 finish"]
    assert line["now"] == "in doubt: ON GRADE"


def test_the_next_day_asks_for_a_recheck_or_a_new_setup(quiet: Path, capsys: Out, clock: list[datetime]) -> None:
    clock[0] = MORNING + timedelta(days=1)
    before = journal(quiet)
    for arguments in (("read", "yard", "W1=48-1/2"), ("mark", "yard", "TP1=40")):
        assert main(arguments) == 2
        assert "The setup is from another day" in capsys.readouterr().err
    assert journal(quiet) == before
    said(capsys, "recheck", "yard", "DOOR=48")
    assert "ON GRADE" in said(capsys, "read", "yard", "W1=48-1/2")[0]


# -- mark and datum


def test_mark_tells_how_the_elevation_was_carried(quiet: Path, capsys: Out) -> None:
    assert said(capsys, "mark", "yard", "TP1=40", "--what", "nail") == ["TP1 = DOOR 0 + 48 − 40 = 8 in"]
    said(capsys, "move", "yard")
    said(capsys, "setup", "yard", "tp1=30")
    reply = answer(capsys, "mark", "yard", "TP2=50-1/2")
    assert reply == {"entry": 6, "mark": "TP2", "elevation": length(-317.5, "-12 1/2 in")}
    said(capsys, "read", "yard", "W1=38-1/2")
    assert said(capsys, "mark", "yard", "w1") == ["W1 = DOOR 0 + 48 − 40 + 30 − 38 1/2 = −1/2 in"]


def test_a_datum_is_tied_by_its_mark_and_then_shown_and_read_against(quiet: Path, capsys: Out) -> None:
    says = "The datum “street” isn't tied in yet: shoot LID first, from a finished setup.\n"
    before = journal(quiet)
    for arguments in (("read", "yard", "V1=70"), ("datum", "yard", "street")):
        assert main(arguments) == 2
        assert capsys.readouterr().err == says
    assert journal(quiet) == before
    assert said(capsys, "datum", "yard") == [
        "Elevations are shown from the job zero.",
        "  office: tied",
        "  street: not tied in yet, waits for LID",
    ]
    said(capsys, "mark", "yard", "LID=58")
    assert answer(capsys, "datum", "yard", "street") == {
        "shown": "street",
        "tied": {"office": True, "street": True},
    }
    (line,) = said(capsys, "read", "yard", "V1=70")
    assert "ON GRADE" in line
    assert "found 1188 in" in line
    said(capsys, "datum", "yard", "job")
    assert answer(capsys, "datum", "yard")["shown"] is None


# -- correct


def test_correct_in_its_place_with_dry_only_says_what_would_change(quiet: Path, capsys: Out) -> None:
    said(capsys, "read", "yard", "W1=48-1/2", "C1=51")
    before = journal(quiet)
    reply = answer(capsys, "correct", "yard", "2", "47-15/16", "--dry")
    assert reply == {
        "recorded": False,
        "points moved": 2,
        "largest": length(-1.5875, "-1/16 in"),
        "verdicts changed": [],
        "decides": "Local code and the drawings decide.",
    }
    assert said(capsys, "correct", "yard", "2", "47", "--dry") == [
        "2 points move, at most by −1 in; 2 verdicts change."
    ]
    assert journal(quiet) == before
    reply = answer(capsys, "correct", "yard", "2", "47")
    assert (reply["recorded"], reply["points moved"], len(reply["verdicts changed"])) == (
        True,
        2,
        2,
    )
    assert reply["verdicts changed"][0] == {"area": "walk", "point": "W1", "stage": "finish"}
    (now,) = [row["now"] for row in answer(capsys, "log", "yard") if row["subject"] == "W1 finish"]
    assert now == "FILL 1"


@pytest.mark.parametrize(
    ("flags", "moved", "plane"),
    [
        pytest.param((), 1, "47 in", id="wrong-from-the-start"),
        pytest.param(("--moved",), 0, "47 in", id="moved-from-now-on"),
    ],
)
def test_correct_a_mark(quiet: Path, capsys: Out, flags: tuple[str, ...], moved: int, plane: str) -> None:
    said(capsys, "setup", "yard", "KERB=52")
    said(capsys, "read", "yard", "C1=51")
    change = ("correct", "yard", "--mark", "kerb=-5", *flags, "--why", "office sheet")
    before = journal(quiet)
    dry = answer(capsys, *change, "--dry")
    assert journal(quiet) == before
    reply = answer(capsys, *change)
    assert reply == {**dry, "recorded": True}
    assert (reply["points moved"], len(reply["verdicts changed"])) == (moved, moved)
    (first, _) = said(capsys, "setup", "yard", "KERB=52")
    assert first.endswith(plane)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param(("2",), "Say what to correct", id="no-figure"),
        pytest.param(("2", "47l"), "not a unit of length", id="no-length"),
        pytest.param(("2", "KERB=47"), "This setup has no backsight on “KERB”", id="another-mark"),
        pytest.param(("--mark", "KERB=-5"), "how you know", id="no-reason"),
        pytest.param(("--mark", "KERB=-5", "--moved", "--why", " "), "how you know", id="an-empty-reason"),
        pytest.param(("--mark", "GATE=-5", "--why", "x"), "There is no mark “GATE”", id="no-such-mark"),
        pytest.param(("--mark", "TP1=-5", "--why", "x"), "TP1 was carried from a setup", id="a-carried-mark"),
        pytest.param(("--mark", "KERB", "--why", "x"), "is not NAME=READING", id="no-elevation"),
    ],
)
@pytest.mark.parametrize("dry", [(), ("--dry",)], ids=["", "dry"])
def test_what_can_t_be_corrected_is_refused_and_nothing_is_written(
    quiet: Path, capsys: Out, arguments: tuple[str, ...], says: str, dry: tuple[str, ...]
) -> None:
    said(capsys, "mark", "yard", "TP1=40")
    before = journal(quiet)
    assert main(["correct", "yard", *arguments, *dry]) == 2
    printed = capsys.readouterr()
    assert (printed.out, says in printed.err, len(printed.err.splitlines())) == ("", True, 1)
    assert journal(quiet) == before


@pytest.mark.parametrize("options", [(), ("--dry",)], ids=["", "dry"])
@pytest.mark.parametrize("figure", ["-3-1/2", "-3.5", "-3 1/2", "-.5", "-⅜", "-1' 2\""])
def test_a_figure_below_zero_is_a_figure_and_no_option(
    quiet: Path, capsys: Out, figure: str, options: tuple[str, ...]
) -> None:
    said(capsys, "read", "yard", "W1=48-1/2")
    said(capsys, "correct", "yard", "3", figure, *options)
    said(capsys, "correct", *options, "yard", "--", "3", figure)
    typed = [row["typed"] for row in answer(capsys, "log", "yard")]
    assert typed[2:] == (["48-1/2"] if options else ["48-1/2", figure, figure]), "and it is kept as it was typed"


def test_figures_below_zero_are_taken_wherever_a_figure_may_stand(quiet: Path, capsys: Out) -> None:
    """A rod held upside down under a beam reads below zero in every command."""
    said(capsys, "setup", "yard", "DOOR=-48", "--at", "-2 ft,-3 ft")
    said(capsys, "recheck", "yard", "DOOR=-48")
    said(capsys, "mark", "yard", "TP1=-40")
    said(capsys, "read", "yard", "W1=-47-1/2")
    said(capsys, "instrument", "yard", "two-peg", "-1-1/2", "-1-1/2", "-2", "-2", "2 ft", "100 ft")
    assert [row["typed"] for row in answer(capsys, "log", "yard")][2:6] == [
        "DOOR=-48",
        "DOOR=-48",
        "TP1=-40",
        "-47-1/2",
    ]


def test_an_option_may_stand_before_the_datum(quiet: Path, capsys: Out) -> None:
    assert answer(capsys, "datum", "yard", "--by", "MO", "office")["shown"] == "office"
    assert answer(capsys, "log", "yard")[-1]["by"] == "MO"


def test_an_unknown_option_is_still_refused(quiet: Path, capsys: Out) -> None:
    with pytest.raises(SystemExit, match=r"^2$"):
        main(["correct", "yard", "2", "48", "--dri"])
    assert "unrecognized arguments: --dri" in capsys.readouterr().err


# -- what the commands say


@pytest.mark.parametrize(
    ("job", "says"),
    [
        pytest.param("nowhere", "There is nothing at nowhere; JOB is a job's folder", id="no-folder"),
        pytest.param("nowhere/job.yaml", "There is nothing at nowhere/job.yaml; JOB is", id="no-file"),
        pytest.param("empty", "There is no job.yaml in empty; JOB is a folder that has one.", id="no-job-in-it"),
    ],
)
@pytest.mark.parametrize(
    "verb",
    [("setup", "DOOR=48"), ("read", "W1=48"), ("log",), ("examine",), ("targets",), ("open",), ("circuit",)],
    ids=lambda verb: verb[0],
)
def test_a_job_that_is_not_there_is_named_as_it_was_given(
    quiet: Path, capsys: Out, job: str, says: str, verb: tuple[str, ...]
) -> None:
    Path("empty").mkdir()
    assert main([verb[0], job, *verb[1:]]) == 2
    printed = capsys.readouterr()
    assert (printed.out, printed.err.startswith(says), len(printed.err.splitlines())) == ("", True, 1), printed.err
    assert list(Path("empty").iterdir()) == []


def test_no_command_speaks_of_a_key(quiet: Path, capsys: Out) -> None:
    said(capsys, "mark", "yard", "TP1=40")
    lines = said(capsys, "setup", "yard", "DOOR=48", "KERB=53", "TP1=40", code=1)
    said(capsys, "setup", "yard", "DOOR=48")
    said(capsys, "read", "yard", "W1=48-1/2")
    lines += said(capsys, "recheck", "yard", "DOOR=49", code=1)
    for refused in (("read", "yard", "W1=48"), ("datum", "yard", "street")):
        assert main(refused) == 2
        lines.append(capsys.readouterr().err)
    assert [line for line in lines if re.search(r"\bF[0-9]|Ctrl|Escape|\bEnter\b", line)] == []


def test_a_recheck_is_off_by_what_a_rod_can_show(quiet: Path, capsys: Out) -> None:
    """The mean of three marks lies between two marks of the rod; what it is off by is told at the nearest."""
    said(capsys, "mark", "yard", "TP1=40")
    said(capsys, "setup", "yard", "DOOR=48", "KERB=52", "TP1=40-1/16")
    assert said(capsys, "recheck", "yard", "DOOR=48")[0].startswith("DOOR is off by ~0 in (allowed 1/8 in)")
    # An eighth and a 48th too low: that is no eighth, which would be allowed.
    (line,) = said(capsys, "recheck", "yard", "DOOR=48-3/16", code=1)
    assert line.startswith("DOOR is OFF BY ~−3/16 in (allowed 1/8 in)")


def test_the_log_tells_a_mark_put_right_from_the_zero_that_is_shown(quiet: Path, capsys: Out) -> None:
    said(capsys, "correct", "yard", "--mark", "KERB=-4-1/8", "--why", "office sheet")
    subjects = [row["subject"] for row in answer(capsys, "log", "yard") if row["kind"] == "mark given"]
    assert subjects == ["KERB corrected to -4 1/8, office sheet"]
    said(capsys, "datum", "yard", "office")
    said(capsys, "correct", "yard", "--mark", "KERB=1196", "--moved", "--why", "hit by the loader")
    subjects = [row["subject"] for row in answer(capsys, "log", "yard") if row["kind"] == "mark given"]
    assert subjects == [
        "KERB corrected to 1195 7/8 from office, office sheet",
        "KERB moved to 1196 from office, hit by the loader",
    ]


# -- circuit


@pytest.fixture
def walked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    """The line of NOTE-1 in the field book: it comes in 0.04 ft too high."""
    monkeypatch.chdir(tmp_path)
    folder = Path("yard")
    folder.mkdir()
    (folder / "job.yaml").write_text(FEET_JOB.replace("START", "100.00"), encoding="utf-8")
    rows = (("A=3.10", "TP1=9.82"), ("TP1=6.44", "TP2=6.96"), ("TP2=8.76", "TP3=3.27"))
    for backsight, foresight in rows:
        said(capsys, "setup", "yard", backsight, *REQUIRED)
        said(capsys, "mark", "yard", foresight)
        said(capsys, "move", "yard")
    said(capsys, "setup", "yard", "TP3=7.12")
    said(capsys, "recheck", "yard", "B=10.42")
    return folder


def test_circuit_tells_closure_page_check_and_corrections_apart(walked: Path, capsys: Out) -> None:
    before = journal(walked)
    assert said(capsys, "circuit", "yard") == [
        "A - TP1 - TP2 - TP3 - B: 4 setups, misclosure 0.04 ft, allowed 0.04 ft: it closes.",
        "  page check: the sums agree",
        "  shared out by setups: TP1 −0.01, TP2 −0.02, TP3 −0.03, B −0.04",
    ]
    (told,) = answer(capsys, "circuit", "yard")["circuits"]
    legs = told.pop("legs")
    assert [(leg["from"], leg["to"]) for leg in legs] == [("A", "TP1"), ("TP1", "TP2"), ("TP2", "TP3"), ("TP3", "B")]
    assert legs[0]["rise"] == length(-2048.256, "-6.72 ft")
    assert told == {
        "marks": ["A", "TP1", "TP2", "TP3", "B"],
        "setups": 4,
        "misclosure": length(12.192, "0.04 ft"),
        "allowed": length(12.192, "0.04 ft"),
        "closes": True,
        "page check": True,
        "corrections": {
            "TP1": length(-3.048, "-0.01 ft"),
            "TP2": length(-6.096, "-0.02 ft"),
            "TP3": length(-9.144, "-0.03 ft"),
            "B": length(-12.192, "-0.04 ft"),
        },
    }
    assert journal(walked) == before


def test_circuit_by_another_rule_may_end_with_1(walked: Path, capsys: Out) -> None:
    lines = said(capsys, "circuit", "yard", "--rule", "0.03 ft", code=1)
    assert lines[0].endswith("allowed 0.03 ft: IT DOES NOT CLOSE.")
    (told,) = answer(capsys, "circuit", "yard", "--rule", "0.03 ft", code=1)["circuits"]
    assert (told["closes"], told["allowed"]) == (False, length(9.144, "0.03 ft"))


def test_circuit_adjusted_gives_what_the_shares_give(walked: Path, capsys: Out) -> None:
    lines = said(capsys, "circuit", "yard", "--adjust")
    assert lines[3] == "All readings adjusted together:"
    reply = answer(capsys, "circuit", "yard", "--adjust")["network"]
    heights = {"TP1": 93.27, "TP2": 92.74, "TP3": 98.22}
    assert set(reply["marks"]) == set(heights)
    for mark, feet in heights.items():
        assert reply["marks"][mark]["mm"] == pytest.approx(feet * 304.8)
    assert reply["residuals"]["TP3 to B"]["mm"] == pytest.approx(-3.048)
    assert (reply["degrees of freedom"], reply["passes"], reply["chi-square"]) == (
        1,
        None,
        None,
    )
    # Four sights that share 0.04 ft: all are checked alike, and the scatter of one is 0.04 ft over the root of four.
    assert reply["scatter mm"] == pytest.approx(0.02 * 304.8)
    assert list(reply["redundancies"].values()) == pytest.approx([0.25] * 4)
    assert [abs(each) for each in reply["standardized residuals"].values()] == pytest.approx([1.0] * 4)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param(("--share", "distance"), "has no distance; give it, or share by setups", id="no-distances"),
        pytest.param(("--rule", "12 mm per root km"), "distance", id="a-rule-by-distance"),
        pytest.param(("--rule", "3 parsecs"), "is not an allowance", id="no-rule"),
    ],
)
def test_circuit_refuses_what_the_plan_does_not_tell(
    walked: Path, capsys: Out, arguments: tuple[str, ...], says: str
) -> None:
    before = journal(walked)
    assert main(["circuit", "yard", *arguments]) == 2
    printed = capsys.readouterr()
    assert (printed.out, says in printed.err, len(printed.err.splitlines())) == ("", True, 1)
    assert journal(walked) == before


# -- instrument


def test_instrument_out_of_its_limit_exits_1_and_counts_in_later_readings(quiet: Path, capsys: Out) -> None:
    (before,) = answer(capsys, "read", "yard", "W1=48-1/2")
    assert said(capsys, "instrument", "yard", "two-peg", *PEGS, code=1) == [
        "The beam is off by 171.9 arc-seconds and the plan allows 15.0: have it adjusted. "
        "That is 1 1/2 in over 150 ft. From the second place a level beam reads 50 in on A and 50 in on B."
    ]
    (after,) = answer(capsys, "read", "yard", "W1=48-1/2")
    assert after["uncertainty"]["mm"] > 10 * before["uncertainty"]["mm"]


def test_instrument_within_its_limit_answers_in_json(quiet: Path, capsys: Out) -> None:
    figures = ("50-1/32", "50", "49-31/32", "50", "100 ft")
    reply = answer(capsys, "instrument", "yard", "four-directions", *figures)
    assert (reply["entry"], reply["test"], reply["within"]) == (3, "four-directions", True)
    assert reply["slope error"]["ratio"] == pytest.approx(1 / 32 / 1200)
    assert reply["slope error"]["arc-seconds"] == pytest.approx(5.37, abs=0.005)
    assert (
        reply["says"]
        == "The beam is off by 5.4 arc-seconds, within the 15.0 the plan allows. That is 1/16 in over 150 ft."
    )
    assert answer(capsys, "log", "yard")[-1]["then"] == "OK"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param(("two-peg", *PEGS[:5]), "The two-peg test takes 6 figures", id="too-few"),
        pytest.param(("two-peg", *PEGS[:4], "9 ft", "9 ft"), "shows nothing", id="both-pegs-alike-far"),
        pytest.param(("four-directions", *PEGS[:4], "0 ft"), "some distance away", id="no-distance"),
        pytest.param(("two-peg", "fifty", *PEGS[1:]), "is not a length", id="no-length"),
    ],
)
def test_a_test_that_tells_nothing_is_refused_and_nothing_is_written(
    quiet: Path, capsys: Out, arguments: tuple[str, ...], says: str
) -> None:
    before = journal(quiet)
    assert main(["instrument", "yard", *arguments]) == 2
    printed = capsys.readouterr()
    assert (printed.out, says in printed.err, len(printed.err.splitlines())) == ("", True, 1)
    assert journal(quiet) == before
