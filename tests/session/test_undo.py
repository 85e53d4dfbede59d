"""Undo: one's own last reading or strike is taken back, and the one before it when asked again."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import Reading, Void
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.journal_strategies import JOB
from tests.strategies import examples

SURFACES = [Surface("walk", "W1", "finish"), Surface("walk", "W2", "finish"), Surface("court", "C1", "finish")]
W1, W2, _ = SURFACES
UNTOUCHED = "RK has no reading or strike to undo."


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """The laser set up on DOOR at 48 by RK."""
    opened = _stood(tmp_path)
    yield opened
    opened.close()


def _stood(folder: Path) -> Session:
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder, by="RK")
    session.record(actions.set_up(session.state, "DOOR", "48"))
    return session


def _counting(session: Session) -> dict[Surface, list[tuple[str, Fraction]]]:
    """The readings that count, each by the entry that first held it, and what the rod showed."""
    return {
        surface: [(shot.id, shot.rod.metres) for shot in shots]
        for surface, shots in session.state.shots.items()
        if shots
    }


@examples(40)
@given(
    st.lists(st.tuples(st.sampled_from(["read", "strike", "correct"]), st.integers(0, 5)), min_size=1, max_size=8),
    st.data(),
)
def test_each_undo_goes_back_by_one_reading_correction_or_strike(
    tmp_path_factory: pytest.TempPathFactory, acts: list[tuple[str, int]], data: st.DataObject
) -> None:
    session = _stood(tmp_path_factory.mktemp("job"))
    try:
        pictures = [_counting(session)]
        for at, (act, which) in enumerate(acts):
            count = [shot.id for shots in session.state.shots.values() for shot in shots]
            if act == "read" or not count:
                session.record(actions.reading(session.state, SURFACES[which % 3], f"{40 + at}"))
            elif act == "strike":
                session.record(session.strike(count[which % len(count)], "a stone under the rod"))
            else:
                session.record(session.correct(count[which % len(count)], f"{40 + at} 1/2"))
            pictures.append(_counting(session))
            while len(pictures) > 1 and data.draw(st.integers(0, 3)) == 0:
                session.record(session.undo())
                pictures.pop()
                assert _counting(session) == pictures[-1]
        for picture in reversed(pictures[:-1]):
            session.record(session.undo())
            assert _counting(session) == picture
        with pytest.raises(Refusal, match=UNTOUCHED):
            session.undo()
        reopened = Session(session.folder)
        assert _counting(reopened) == {}
        reopened.close()
    finally:
        session.close()


def test_an_undone_reading_stays_in_the_log_struck(session: Session) -> None:
    read = session.record(actions.reading(session.state, W1, "49"))
    undone = session.record(session.undo())
    assert (undone.fact, undone.typed, undone.replaces, undone.by) == (Void("undone"), "undo", read.id, "RK")
    assert session.state.latest(W1) is None
    assert session.journal.verify().fault is None


def test_an_undone_strike_lets_the_reading_count_again_as_it_was(session: Session) -> None:
    read = session.record(actions.reading(session.state, W1, "49", "1 ft off: slip?"))
    struck = session.record(session.strike(read.id, "wrong point"))
    back = session.record(session.undo())
    assert (back.fact, back.typed, back.replaces) == (read.fact, "49", struck.id)
    shot = session.state.latest(W1)
    assert shot is not None
    assert shot.id == read.id


def test_a_struck_setup_is_brought_back(session: Session) -> None:
    stood = session.state.setup
    assert stood is not None
    session.record(session.strike(stood.id, "a slip of the hand"))
    assert session.state.setup is None
    session.record(session.undo())
    assert session.state.setup == stood


def test_what_another_person_did_is_left_alone(session: Session) -> None:
    mine = session.record(actions.reading(session.state, W1, "49"))
    session.identify("OV")
    theirs = session.record(actions.reading(session.state, W2, "50"))
    session.identify("RK")
    assert session.undo().replaces == mine.id
    session.identify("OV")
    assert session.undo().replaces == theirs.id


def test_a_reading_that_somebody_else_corrected_is_no_longer_ones_own(session: Session) -> None:
    earlier = session.record(actions.reading(session.state, W1, "49"))
    later = session.record(actions.reading(session.state, W2, "50"))
    session.identify("OV")
    session.record(session.correct(later.id, "51"))
    session.identify("RK")
    assert session.undo().replaces == earlier.id


def test_what_another_person_put_back_is_ones_own_again(session: Session) -> None:
    mine = session.record(actions.reading(session.state, W1, "49"))
    session.identify("OV")
    session.record(session.strike(mine.id, "looked wrong"))
    back = session.record(session.undo())
    assert isinstance(back.fact, Reading)
    session.identify("RK")
    assert session.undo().replaces == back.id


def test_setups_rechecks_and_notes_are_not_undone(session: Session) -> None:
    session.record(actions.recheck(session.state, "DOOR", "48"))
    session.record(actions.note("dry"))
    with pytest.raises(Refusal, match=UNTOUCHED):
        session.undo()
