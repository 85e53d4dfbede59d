"""A tolerance is read in four spellings, in every unit, or refused with a sentence that names the way left."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.measure.notation import Units
from gradecheck.measure.typed import LONGEST, NotUnderstoodError, read_tolerance
from tests.strategies import Typed, mm, readings, units
from tests.tables import each_of

IN, FT_IN, FT, MM, CM, M = Units
INCH = Fraction(254, 10)


def both(text: str, job: Units) -> tuple[Fraction, Fraction]:
    found = read_tolerance(text, job)
    return mm(found.high), mm(found.low)


def either(text: str, job: Units) -> tuple[Fraction, Fraction] | str:
    """High and low, or the sentence that refuses the text."""
    try:
        return both(text, job)
    except NotUnderstoodError as refused:
        return str(refused)


@each_of(
    ("text", "job", "high", "low"),
    [
        ("+0 -1/2", IN, 0, INCH / 2),
        ("+1 -1/2", IN, INCH, INCH / 2),
        ("+1/2 -0", IN, INCH / 2, 0),
        ("+10 -1/2", IN, 10 * INCH, INCH / 2),
        ("+3-1/2 -1-1/4", IN, 7 * INCH / 2, 5 * INCH / 4),
        ("+1 1/2 -1 1/4", IN, 3 * INCH / 2, 5 * INCH / 4),
        ("+½ -¼", IN, INCH / 2, INCH / 4),
        ("+1/2 \N{MINUS SIGN}1/4", IN, INCH / 2, INCH / 4),
        ("+1/2 \N{EN DASH}1/4", IN, INCH / 2, INCH / 4),
        ("+1/2/-1/4", IN, INCH / 2, INCH / 4),
        ("+1/2 / -1/4", IN, INCH / 2, INCH / 4),
        ("+1/2 in / -1/4 in", FT, INCH / 2, INCH / 4),
        ("±1/2", IN, INCH / 2, INCH / 2),
        ("± 1 1/2 in", MM, 3 * INCH / 2, 3 * INCH / 2),
        ("3/8", IN, 3 * INCH / 8, 3 * INCH / 8),
        ("3-1/2", IN, 7 * INCH / 2, 7 * INCH / 2),
        ("0", M, 0, 0),
        ("+5 -10", MM, 5, 10),
        ("+0.5 -1", CM, 5, 10),
        ("+0.01/-0.02", M, 10, 20),
        ("+0.02 -0.03", FT, Fraction(6096, 1000), Fraction(9144, 1000)),
        # One unit behind both counts where that is the job's own, or where the other is nothing in any unit.
        ("+5 -10 mm", MM, 5, 10),
        ("+1/2 -1/4 in", IN, INCH / 2, INCH / 4),
        ("+1/2 -1/4 in", FT_IN, INCH / 2, INCH / 4),
        ("+0 -1/2 in", MM, 0, INCH / 2),
        ("+1/2 in -0", M, INCH / 2, 0),
    ],
)
def test_the_four_spellings_of_a_tolerance(text: str, job: Units, high: Fraction, low: Fraction) -> None:
    assert both(text, job) == (high, low)


REFUSED = [
    "", "   ", "+", "-", "±", "/", "+ -", "high", "no",
    # One sign alone says one way and leaves the other open.
    "+1/2", "-1/2", "\N{MINUS SIGN}1/2", "+0", "-0",
    # The signs the wrong way round, twice, or on both numbers alike.
    "-1/2 +1/2", "-1/4/+1/2", "+1/2 +1/4", "-1/2 -1/4", "1/2 -1/4", "1/2 +1/4", "10 -1/2", "1/2/1/4", "+1/2/1/4",
    "+1/2 1/4", "+-1/2", "-+1/2", "+/-1/2", "+ / - 1/2", "±+1/2", "±-1/2", "++1/2 -1/4", "+1/2 --1/4", "+1/2 ±1/4",
    "±1/2 -1/4", "±1/2 ±1/4", "+1/2 -1/4 -1/8", "+1 -1 -1/2", "+1 -1/2/-1/4",
    # Without a space a hyphen joins, with one on both sides it does neither.
    "+1-1/2", "+3/8-1/4", "+1/2 - 1/4", "+ 1/2 -1/4", "+1/2- 1/4", "3 - 1/2", "3- 1/2", "3 -1/2", "± 3 -1/2",
    # Other ways of writing two numbers.
    "+1/2, -1/4", "+1/2; -1/4", "+1/2 to -1/4", "1/2..1/4", "1/2 high 1/4 low", "[+1/2, -1/4]", "{high: 1/2}",
    "+1/2 -1/4 lb", "+1/2% -1/4%", "1:48", "+1e3 -1", "+1/2\n-1/4", "+1/3 -1/7", "+9/8 -1/8", "1,250", "+1,250 -1",
]  # fmt: skip


@each_of("job", list(Units))
@each_of("text", REFUSED)
def test_everything_else_is_refused_and_names_high_and_low(text: str, job: Units) -> None:
    with pytest.raises(NotUnderstoodError) as refused:
        read_tolerance(text, job)
    says = str(refused.value)
    assert "{high: " in says
    assert ", low: " in says
    assert says.endswith(".")
    assert says.isprintable()


@pytest.mark.parametrize(
    ("text", "job"), [("+1/2 -1/4 in", FT), ("+1/2 in -1/4", MM), ("+1' 3 -1/2", FT), ("+5 mm -1", M)]
)
def test_a_unit_at_one_of_two_numbers_is_refused_if_it_matters(text: str, job: Units) -> None:
    with pytest.raises(NotUnderstoodError, match=r"has a unit at one of its two numbers.*\{high: .*, low: .*\}"):
        read_tolerance(text, job)


def _unsigned(job: Units) -> st.SearchStrategy[Typed]:
    return readings(job).filter(lambda typed: typed.text[0] not in "+-\N{MINUS SIGN}" and len(typed.text) <= 16)


_MARKS = ("in", '"', "\N{DOUBLE PRIME}", "ft", "'", "\N{PRIME}", "m", "M", "yd", "inches", "feet")


def _named(text: str) -> bool:
    return any(mark in text for mark in _MARKS)


@given(units.flatmap(lambda job: st.tuples(st.just(job), _unsigned(job), st.sampled_from(("", "±", "± ")))))
def test_one_number_holds_both_ways_in_every_spelling_of_a_length(drawn: tuple[Units, Typed, str]) -> None:
    job, typed, sign = drawn
    assert both(sign + typed.text, job) == (typed.mm, typed.mm)


@given(
    units.flatmap(
        lambda job: st.tuples(
            st.just(job), _unsigned(job), _unsigned(job), st.sampled_from((" -", "/-", " / -", " \N{MINUS SIGN}"))
        )
    )
)
def test_two_numbers_hold_each_its_own_way_in_every_spelling_of_a_length(
    drawn: tuple[Units, Typed, Typed, str],
) -> None:
    job, high, low, between = drawn
    text = f"+{high.text}{between}{low.text}"
    if _named(high.text) == _named(low.text):
        assert both(text, job) == (high.mm, low.mm)
    else:  # then it is refused, or the unit at one says nothing new of the other
        found = either(text, job)
        assert found == (high.mm, low.mm) or "has a unit at one of its two numbers" in str(found)


_PIECES = st.sampled_from(
    ["+", "-", "±", "/", " ", "  ", "\N{MINUS SIGN}", "1", "0", "10", "1/2", "1/4", "3 1/2", "3-1/2", "½", "in", "mm",
     "'", ",", "."]
)  # fmt: skip


@example("1 -1/2", IN)
@example("+1 - 1/2", IN)
@example("+1/2 -1/4", IN)
@given(st.lists(_PIECES, max_size=9).map("".join), units)
def test_signs_and_numbers_are_one_of_the_four_or_refused(text: str, job: Units) -> None:
    found = either(text, job)
    if isinstance(found, str):
        assert "{high: " in found
        assert found.isprintable()
        return
    high, low = found
    plain = " ".join(text.replace("\N{MINUS SIGN}", "-").split())
    assert min(high, low) >= 0
    if plain.startswith("+"):
        # One plus, in front; and behind a space or stroke one minus with its number close behind it.
        assert plain.count("+") == 1
        assert sum(plain.count(sign) for sign in (" -", "/-")) == 1
    else:
        assert high == low
        assert "+" not in plain
        assert " -" not in plain
        assert "/-" not in plain
        assert "- " not in plain
        assert not plain.startswith("-")
        assert plain.count("±") <= 1


def test_a_long_text_is_refused_without_being_worked_through() -> None:
    with pytest.raises(NotUnderstoodError, match=r"\{high: "):
        read_tolerance("+" + "1 -" * 10_000, IN)
    with pytest.raises(NotUnderstoodError, match=r"\{high: "):
        read_tolerance(f"+1 -{'1' * LONGEST}", IN)


def test_the_way_out_that_is_named_can_be_another() -> None:
    with pytest.raises(NotUnderstoodError, match=r"write 1/2 high 1/4 low\.$"):
        read_tolerance("10 -1/2", IN, "1/2 high 1/4 low")
    assert IN.examples.apart == "{high: 1/2 in, low: 3/8 in}"
