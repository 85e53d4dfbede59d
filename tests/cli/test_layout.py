"""The command `layout`: targets, tapes all or none, chalk lines, and an answer that is no when a tape is out."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from tests.cli.asides import answered
from tests.report.test_layout import JOB

BONDED = JOB + "bonds:\n  court bond: {from: kerb, unit: 7 7/8 in, joint: 1/8 in, rows: 10, pattern: half}\n"
SQUARE = ("A-B=144", "B-C=240", "C-D=144", "D-A=240", "A-C=279-7/8", "B-D=279-7/8")


@pytest.fixture
def job(tmp_path: Path) -> str:
    """A job with layout checks and a bond."""
    (tmp_path / "job.yaml").write_text(BONDED, encoding="utf-8")
    return str(tmp_path)


def test_a_square_court_is_answered_with_yes(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["layout", job, "court", *SQUARE, "--by", "RK"]) == 0
    assert capsys.readouterr().out.count("ON LENGTH") == 6


@pytest.mark.parametrize("before", [0, 1], ids=["before the name", "before the tapes"])
def test_an_option_may_stand_among_what_was_taped(job: str, before: int, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["court", *SQUARE]
    assert main(["layout", job, *given[:before], "--by", "RK", *given[before:]]) == 0
    assert capsys.readouterr().out.count("ON LENGTH") == 6


def test_a_misread_tape_is_named_and_the_answer_is_no(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    tapes = [tape.replace("A-C=279-7/8", "A-C=289-7/8") for tape in SQUARE]
    assert main(["layout", job, "court", *tapes, "--by", "RK", "--json"]) == 1
    [told] = answered(capsys.readouterr().out)
    assert told["verdict"] == "fault"
    assert any("A to C looks misread" in says for says in told["says"])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("court", "A-B=144", "A-X=3"), "is not a side or diagonal of court"),
        (("court", "A-B=144", "AC=3"), "names no two corners"),
        (("court", "A-B=0"), "more than zero"),
        (("curt",), "Did you mean “court”?"),
        (("--sides", "12 ft"), "write it like 12 ft,20 ft"),
        (("court bond", "--module", "80"), "write what so many units measure"),
        (("court bond", "A-B=144"), "The bond “court bond” goes without tapes"),
        (("court", "A-B=144", "--module", "80/10"), "A layout check goes without --module"),
        (("court", "A-B=144", "--sides", "12 ft,20 ft"), "--sides and --round stand without a name or tapes"),
    ],
)
def test_what_is_not_understood_writes_nothing(
    job: str, arguments: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["layout", job, *arguments, "--by", "RK"]) == 2
    assert said in capsys.readouterr().err
    assert not (Path(job) / "journal.db").exists()


def test_chalk_lines_and_a_typed_rectangle(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["layout", job, "court bond", "--module", "80-5/8/10"]) == 1
    text = capsys.readouterr().out
    assert "row  10     6' 8 5/8\"  +5/8 in, allowed 1/16 in: TOO MUCH" in text
    assert "laid like this row 10 lies +5/8 in off the plan, allowed 1/16 in" in text
    assert "TOO MUCH" in text
    assert main(["layout", job, "court bond", "--module", "80/10"]) == 0
    assert "TOO MUCH" not in capsys.readouterr().out
    assert main(["layout", job, "--sides", "12 ft,20 ft"]) == 0
    assert "~23' 3 7/8\"" in capsys.readouterr().out


def test_the_answer_sketches_the_corners_and_says_what_to_move(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    # C stands 1/2 in too far from B: sqrt(144² + 240 1/2²) = 280 5/16.
    tapes = ("A-B=144", "B-C=240-1/2", "C-D=144", "D-A=240", "A-C=280-5/16", "B-D=279-7/8")
    assert main(["layout", job, "court", *tapes, "--by", "RK"]) == 1
    says = capsys.readouterr().out
    assert "  Move C 1/2 in toward B, then tape again." in says
    sketch = says[says.index("then tape again.") :]
    for text in ("A o", "o B", "D o", "o C ", "20' 0 1/2\"", "23' 4 5/16\"", "23' 3 7/8\"", "-| 10 ft"):
        assert text in sketch, sketch
    assert main(["layout", job, "court", "--json"]) == 1
    [answer] = answered(capsys.readouterr().out)
    [move] = answer["moves"]
    [along] = move["along"]
    assert (move["corner"], along["way"], along["of"]) == ("C", "toward", "B")
    assert along["by"]["text"] == "1/2 in"
    assert abs(along["by"]["mm"] - 12.7) < 0.2
    assert answer["do"] == "Move C 1/2 in toward B, then tape again."


def test_what_the_tapes_do_not_tell_is_not_told(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["layout", job, "court", *SQUARE[:5], "--by", "RK", "--json"]) == 0
    [answer] = answered(capsys.readouterr().out)
    assert (answer["moves"], answer["do"]) == (None, "")
    assert main(["layout", job, "court", SQUARE[5], "--by", "RK", "--json"]) == 0
    [answer] = answered(capsys.readouterr().out)
    assert (answer["moves"], answer["do"]) == ([], "")
