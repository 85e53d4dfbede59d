"""A working offset: a string or form that stands a known way off the target is judged as the ground below it is."""

from __future__ import annotations

import tempfile
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.readings import question
from gradecheck.journal.facts import Reading
from gradecheck.measure.quantities import inches
from gradecheck.measure.verdict_words import Word
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.actions.conftest import JOB

A1 = Surface("yard", "A1", "finish")


@pytest.fixture
def stood(session: Session) -> Session:
    """The plane at 50; A1 is wanted at -1, so the rod should read 51 on the ground."""
    session.record(actions.set_up(session.state, "DOOR", "50"))
    return session


@pytest.mark.parametrize(
    ("typed", "sixteenths"),
    [
        ("3 1/4 above", 52),
        ("offset 3-1/4 above", 52),
        ("OFFSET 1 Below", -16),
        ("1/4below", -4),
        ("1 ft above", 192),
        ("off", None),
        ("offset off", None),
        ("0", None),
        ("0 above", None),
    ],
)
def test_an_offset_is_typed_with_its_side(session: Session, typed: str, sixteenths: int | None) -> None:
    expected = None if sixteenths is None else inches(Fraction(sixteenths, 16))
    assert actions.working_offset(session.state, typed) == expected


@pytest.mark.parametrize(
    ("typed", "says"),
    [("3 1/4", "is not an offset; write it like 6 in above"), ("", "is not an offset"), ("above", "is not an offset"),
     ("-3 above", "without a minus"), ("3 1/3 above", "1/3 is on no tape")],
)  # fmt: skip
def test_an_offset_without_a_side_or_a_size_is_refused(session: Session, typed: str, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        actions.working_offset(session.state, typed)


@pytest.mark.parametrize(
    ("typed", "above", "word", "off"),
    [
        ("47-3/4", "3 1/4 above", Word.ON_GRADE, 0),  # 51 - 3 1/4
        ("48", "3 1/4 above", Word.FILL, -4),
        ("47-1/4", "3 1/4 above", Word.CUT, 8),
        ("52", "1 below", Word.ON_GRADE, 0),  # 51 + 1
        ("51", "1 below", Word.CUT, 16),
        ("51", "off", Word.ON_GRADE, 0),
    ],
)
def test_a_reading_on_a_string_is_judged_by_where_the_string_should_be(
    stood: Session, typed: str, above: str, word: Word, off: int
) -> None:
    offset = actions.working_offset(stood.state, above)
    fact = stood.record(actions.reading(stood.state, A1, typed, above=offset)).fact
    assert isinstance(fact, Reading)
    verdict = stood.state.verdict(A1)
    assert verdict is not None
    assert (verdict.word, verdict.difference) == (word, inches(Fraction(off, 16)))
    assert (fact.above, fact.judged.word) == (offset, word)
    assert fact.judged.found.above(fact.judged.wanted) == verdict.difference


@given(st.integers(-160, 160).filter(bool), st.integers(-40, 40))
def test_the_offset_moves_the_rod_figure_and_nothing_else(offset: int, off: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.yaml").write_text(JOB, encoding="utf-8")
        with closing(Session(Path(folder), by="RK")) as session:
            session.record(actions.set_up(session.state, "DOOR", "50"))
            above = inches(Fraction(offset, 16))
            plain = session.draft(actions.reading(session.state, A1, typed(816 - off))).fact
            moved = session.draft(actions.reading(session.state, A1, typed(816 - off - offset), above=above)).fact
            assert isinstance(plain, Reading)
            assert isinstance(moved, Reading)
            assert plain.judged == moved.judged
            asked = [
                question(session.state, A1, typed(816 - off)),
                question(session.state, A1, typed(816 - off - offset), above),
            ]
            assert (asked[0] is None) == (asked[1] is None)


def typed(sixteenths: int) -> str:
    """So many sixteenths of an inch as they are typed."""
    return f"{sixteenths}/16" if sixteenths < 16 else f"{sixteenths // 16} {sixteenths % 16}/16"


def test_a_correction_keeps_the_offset_and_the_log_tells_it(stood: Session) -> None:
    entry = stood.record(actions.reading(stood.state, A1, "48", above=inches(Fraction(13, 4))))
    stood.record(stood.correct(entry.id, "47-3/4"))
    verdict = stood.state.verdict(A1)
    assert verdict is not None
    assert verdict.word is Word.ON_GRADE
    rows = [log_row(stood.state, line) for line in stood.all_lines()[-2:]]
    assert [row.subject for row in rows] == ["A1 finish (offset 3 1/4 in above)"] * 2
    assert [row.then for row in rows] == ["FILL 1/4", "ON GRADE"]


def test_a_point_read_at_an_offset_carries_no_zero(stood: Session) -> None:
    stood.record(actions.reading(stood.state, A1, "47-3/4", above=inches(Fraction(13, 4))))
    with pytest.raises(Refusal, match="read at a working offset; read the point itself"):
        actions.promote(stood.state, A1)


def test_an_old_reading_has_none(stood: Session) -> None:
    fact = stood.record(actions.reading(stood.state, A1, "51")).fact
    assert isinstance(fact, Reading)
    assert (fact.above, fact.late) == (None, None)


# -- an offset that stands until it is taken off


def test_it_stands_from_where_it_was_recorded_until_it_is_taken_off(stood: Session) -> None:
    before = stood.seq
    on = stood.record(actions.change_offset(stood.state, "offset 3 1/4 above"))
    assert stood.state.offset == inches(Fraction(13, 4))
    lower = stood.record(actions.change_offset(stood.state, "1 below"))
    assert stood.state.offset == -inches(1)
    off = stood.record(actions.change_offset(stood.state, "offset off"))
    assert stood.state.offset is None
    places = (before, on.seq, lower.seq - 1, lower.seq, off.seq)
    sixteenths = [None, 52, 52, -16, None]
    expected = [None if each is None else inches(Fraction(each, 16)) for each in sixteenths]
    assert [stood.state.offset_at(place) for place in places] == expected


def test_it_is_told_in_the_log_and_is_gone_where_that_is_struck(stood: Session) -> None:
    on = stood.record(actions.change_offset(stood.state, "offset 3 1/4 above"))
    row = log_row(stood.state, stood.all_lines()[-1])
    assert (row.kind, row.subject) == ("note", "working offset 3 1/4 in above the target, until it is taken off")
    stood.record(stood.strike(on.id, "that was the other string"))
    assert stood.state.offset is None


def test_it_still_stands_on_reopening_and_a_plain_note_changes_nothing(stood: Session) -> None:
    stood.record(actions.change_offset(stood.state, "offset 3 1/4 above"))
    stood.record(actions.note("offset off"))
    with closing(Session(stood.folder, by="RK")) as again:
        assert again.state.offset == inches(Fraction(13, 4))
