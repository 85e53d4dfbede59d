"""CUT, FILL or ON GRADE is decided exactly, edges included, and what is printed never says otherwise."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.checks.verdict import Verdict, judge
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import Elevation, Length, feet, inches, millimetres
from gradecheck.measure.typed import Tolerance, read_length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Rod
from tests.first_things import set_up
from tests.strategies import SMALL_STEPS, elevations, lengths, mm, notations, of_mm, tolerances


def _judge(difference: Length, tolerance: Tolerance) -> Verdict:
    wanted = Elevation(Fraction(-7, 3))
    return judge(wanted + difference, wanted, tolerance)


def _inches(text: str) -> Length:
    return read_length(text, Units.IN)


BASE = Tolerance(high=inches(Fraction(3, 8)), low=inches(Fraction(1, 2)))


@pytest.mark.parametrize(
    ("difference", "word"),
    [
        ("0", Word.ON_GRADE),
        ("3/8", Word.ON_GRADE),
        ("25/64", Word.CUT),
        ("23/64", Word.ON_GRADE),
        ("-1/2", Word.ON_GRADE),
        ("-33/64", Word.FILL),
        ("-31/64", Word.ON_GRADE),
        ("22", Word.CUT),
        ("-22", Word.FILL),
    ],
)
def test_a_difference_exactly_at_the_tolerance_is_on_grade(difference: str, word: Word) -> None:
    assert _judge(_inches(difference), BASE).word is word


def test_a_point_that_binary_floats_would_fail_passes() -> None:
    """8.30 ft found where 8.00 ft is wanted, 0.30 ft allowed: in floats the difference is past the limit."""
    found, wanted, allowed = (read_length(text, Units.FT) for text in ("8.30", "8.00", "0.30"))
    assert 8.30 - 8.00 > 0.30
    verdict = judge(Elevation(found.metres), Elevation(wanted.metres), Tolerance(allowed, allowed))
    assert verdict.word is Word.ON_GRADE


def test_with_no_tolerance_at_all_only_the_exact_grade_is_on_grade() -> None:
    nothing = Tolerance(inches(0), inches(0))
    hair = inches(Fraction(1, 10**6))
    assert [_judge(d, nothing).word for d in (hair, inches(0), -hair)] == [Word.CUT, Word.ON_GRADE, Word.FILL]


# The three steps as people type them, and as fractions of a millimetre by the published definitions.
_TYPED = {
    "1/64 in": (Units.IN, lambda count: f"{count // 64}-{count % 64}/64", Fraction(254, 10) / 64),
    "0.001 ft": (Units.FT, lambda count: f"{count // 1000}.{count % 1000:03d}", Fraction(3048, 10) / 1000),
    "0.1 mm": (Units.MM, lambda count: f"{count // 10}.{count % 10}", Fraction(1, 10)),
}


@pytest.mark.parametrize("step", list(SMALL_STEPS))
@given(
    mark=st.integers(-3000, 3000),
    backsight=st.integers(0, 6000),
    high=st.integers(0, 60),
    low=st.integers(0, 60),
    past=st.integers(-3, 3),
    upward=st.booleans(),
    wanted=st.integers(-3000, 3000),
)
@example(mark=0, backsight=3088, high=24, low=24, past=0, upward=True, wanted=-780)
@example(mark=0, backsight=3088, high=24, low=24, past=1, upward=True, wanted=-780)
@example(mark=0, backsight=3088, high=24, low=32, past=0, upward=False, wanted=-780)
def test_from_the_keyed_reading_to_the_verdict_the_edges_are_exact(
    step: str, mark: int, backsight: int, high: int, low: int, past: int, upward: bool, wanted: int
) -> None:
    job, spell, size = _TYPED[step]

    def keyed(count: int) -> Length:
        return read_length(("-" if count < 0 else "") + spell(abs(count)), job)

    # A reading that lands `past` steps over one of the two limits.
    difference = high + past if upward else -(low + past)
    reading = mark + backsight - (wanted + difference)
    setup = set_up(Rod("rod", "standard", Notation.usual(job)), Elevation(keyed(mark).metres), keyed(backsight))
    verdict = judge(
        setup.elevation(keyed(reading)), Elevation(keyed(wanted).metres), Tolerance(keyed(high), keyed(low))
    )

    found = size * mark + size * backsight - size * reading
    expected = found - size * wanted
    assert mm(verdict.difference) == expected
    if expected > size * high:
        assert verdict.word is Word.CUT
    elif expected < -size * low:
        assert verdict.word is Word.FILL
    else:
        assert verdict.word is Word.ON_GRADE
    # The same said once more in whole numbers.
    assert (verdict.word is Word.ON_GRADE) == (-low <= difference <= high)


@given(elevations, elevations, tolerances())
def test_the_word_follows_the_difference_and_never_both_ways(
    found: Elevation, wanted: Elevation, tolerance: Tolerance
) -> None:
    verdict = judge(found, wanted, tolerance)
    difference = found.metres - wanted.metres
    assert verdict.difference.metres == difference
    assert verdict.tolerance == tolerance
    assert (verdict.word is Word.CUT) == (difference > tolerance.high.metres)
    assert (verdict.word is Word.FILL) == (difference < -tolerance.low.metres)


@pytest.mark.parametrize(
    ("difference", "tolerance", "printed"),
    [
        ("13/32", "3/8", "7/16"),
        ("25/64", "3/8", "7/16"),
        ("-13/32", "3/8", "-7/16"),
        ("3/8", "3/8", "3/8"),
        ("23/64", "3/8", "3/8"),
        ("11/32", "3/8", "3/8"),
        ("11/32", "11/32", "5/16"),
        ("1/64", "0", "1/16"),
        ("-1/64", "0", "-1/16"),
        ("0", "0", "0"),
        ("7/16", "13/32", "7/16"),
        ("27/64", "13/32", "7/16"),
        ("2 1/32", "3/8", "2 1/16"),
    ],
)
def test_a_hair_over_a_limit_never_prints_as_the_limit(difference: str, tolerance: str, printed: str) -> None:
    usual = Notation.usual(Units.IN)
    verdict = _judge(_inches(difference), Tolerance(_inches(tolerance), _inches(tolerance)))
    assert show(verdict.rounded(usual.graduation), usual) == printed


def _near_a_limit(tolerance: Tolerance) -> st.SearchStrategy[Length]:
    hair = st.fractions(Fraction(-3, 1000), Fraction(3, 1000), max_denominator=10**6).map(Length)
    return st.one_of(
        hair.map(lambda past: tolerance.high + past),
        hair.map(lambda past: -tolerance.low - past),
        st.just(tolerance.high),
        st.just(-tolerance.low),
        lengths,
    )


@given(
    tolerances().flatmap(lambda tolerance: st.tuples(st.just(tolerance), _near_a_limit(tolerance))),
    notations(),
)
def test_a_printed_difference_never_contradicts_its_verdict(
    drawn: tuple[Tolerance, Length], notation: Notation
) -> None:
    tolerance, difference = drawn
    verdict = _judge(difference, tolerance)
    rounded = verdict.rounded(notation.graduation)
    printed = read_length(show(rounded, notation), notation.units)
    assert printed == rounded, "a whole number of marks prints as itself"
    # Judged by what is printed the word is the same, and what is printed is less than a mark off.
    assert _judge(printed, tolerance).word is verdict.word
    assert abs(mm(printed) - mm(difference)) < mm(notation.graduation)


@pytest.mark.parametrize("step", list(SMALL_STEPS))
@given(limit=st.integers(0, 200), marks=st.integers(1, 40), below=st.booleans())
def test_one_small_step_over_any_limit_shows_as_over_it_on_any_rod(
    step: str, limit: int, marks: int, below: bool
) -> None:
    size = mm(SMALL_STEPS[step])
    tolerance = Tolerance(of_mm(size * limit), of_mm(size * limit))
    over = of_mm(size * (limit + 1))
    verdict = _judge(-over if below else over, tolerance)
    assert verdict.word is (Word.FILL if below else Word.CUT)
    assert abs(verdict.rounded(of_mm(size * marks))) > tolerance.high


@pytest.mark.parametrize(
    ("difference", "word"),
    [
        # 3/8 high and 1/2 low are allowed, U is 1/8: on grade from -3/8 to 1/4, out from 1/2 and from -5/8 on.
        ("1/4", Word.ON_GRADE),
        ("17/64", Word.TOO_CLOSE),
        ("31/64", Word.TOO_CLOSE),
        ("1/2", Word.CUT),
        ("-3/8", Word.ON_GRADE),
        ("-25/64", Word.TOO_CLOSE),
        ("-39/64", Word.TOO_CLOSE),
        ("-5/8", Word.FILL),
    ],
)
def test_a_guarded_verdict_is_exact_at_its_four_edges(difference: str, word: Word) -> None:
    wanted = Elevation(Fraction(-7, 3))
    assert judge(wanted + _inches(difference), wanted, BASE, _inches("1/8")).word is word


@pytest.mark.parametrize(
    ("difference", "printed"), [("7/16", "7/16"), ("5/16", "5/16"), ("-9/16", "-9/16"), ("-7/16", "-7/16")]
)
def test_too_close_to_call_is_printed_as_it_is_on_either_side(difference: str, printed: str) -> None:
    wanted, usual = Elevation(Fraction(-7, 3)), Notation.usual(Units.IN)
    verdict = judge(wanted + _inches(difference), wanted, BASE, _inches("1/8"))
    assert verdict.word is Word.TOO_CLOSE
    assert show(verdict.rounded(usual.graduation), usual) == printed


def test_a_margin_may_differ_up_and_down() -> None:
    lopsided = Tolerance(high=millimetres(20), low=millimetres(13))
    assert _judge(millimetres(20), lopsided).word is Word.ON_GRADE
    assert _judge(millimetres(-20), lopsided).word is Word.FILL
    assert _judge(feet(1), lopsided).rounded(millimetres(1)) == millimetres(305)
