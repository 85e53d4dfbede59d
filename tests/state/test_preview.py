"""What a correction would change is counted point by point, and the largest move is the farthest, up or down."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.checks.verdict import Verdict
from gradecheck.journal.facts import Rechecked
from gradecheck.measure.quantities import Length, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.measure.verdict_words import Word
from gradecheck.state.preview import Preview, preview, preview_of
from gradecheck.state.state import Surface, fold
from tests.journal_strategies import PLAN, Site

ALLOWED = Tolerance(inches(1), inches(1))
A, B, C = (Surface("walk", name, "finish") for name in "ABC")


def at(sixteenths: int, word: Word = Word.ON_GRADE) -> Verdict:
    return Verdict(word, inches(Fraction(sixteenths, 16)), ALLOWED)


def sixteenths(count: int) -> Length:
    return inches(Fraction(count, 16))


@pytest.mark.parametrize(
    ("moves", "largest"), [((1, -4), -4), ((4, -1), 4), ((-4, 1), -4), ((-1, 4), 4), ((0, -2), -2), ((0, 0), 0)]
)
def test_the_largest_move_is_the_farthest_either_way(moves: tuple[int, int], largest: int) -> None:
    before = {A: at(0), B: at(0)}
    told = preview(before, {A: at(moves[0]), B: at(moves[1])})
    assert (told.moved, told.largest) == (sum(move != 0 for move in moves), sixteenths(largest))


def test_a_changed_new_or_gone_verdict_is_listed_and_no_other() -> None:
    before = {A: at(1), B: None, C: at(2)}
    after = {A: at(20, Word.CUT), B: at(3), C: None}
    assert preview(before, after, [C]) == Preview(1, sixteenths(19), (A, B, C), (C,))
    assert preview(before, before) == Preview(0, inches(0), ())


def test_only_what_a_failed_recheck_spoils_anew_goes_in_doubt() -> None:
    site = Site(PLAN)
    stood = site.set_up("DOOR", inches(48))
    site.read(("walk", "W1", "finish"), inches(48))
    site.add(Rechecked(stood.id, "DOOR", inches(50), inches(2), good=False))
    site.set_up("DOOR", inches(40))
    site.read(("court", "C1", "finish"), inches(43))
    before = fold(PLAN, site.entries)
    site.add(Rechecked(site.entries[3].id, "DOOR", inches(42), inches(2), good=False))
    after = fold(PLAN, site.entries)
    w1, c1 = Surface("walk", "W1", "finish"), Surface("court", "C1", "finish")
    assert [surface for surface, _ in before.doubts()] == [w1]
    assert {surface for surface, _ in after.doubts()} == {w1, c1}
    assert preview_of(before, after).doubted == (c1,)
