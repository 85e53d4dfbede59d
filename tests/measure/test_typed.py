"""What people key as a length is read exactly, or refused with one sentence that shows how to write it."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, feet, inches
from gradecheck.measure.typed import LENGTH_UNITS, LONGEST, NotUnderstoodError, read_length
from tests.measure.outside import everything
from tests.strategies import Typed, mm, readings, units
from tests.tables import each_of

IN, FT_IN, FT, MM, CM, M = Units


def _in(number: str) -> Fraction:
    return sum((Fraction(part) for part in number.split()), Fraction(0)) * Fraction(254, 10)


@each_of(
    ("text", "job", "expected_mm"),
    [
        # Every way of writing that people on site use.
        ("13 13/16", IN, _in("13 13/16")),
        ("13-13/16", IN, _in("13 13/16")),
        ("4' 3-1/2\"", IN, _in("51 1/2")),
        ("4'3 1/2", IN, _in("51 1/2")),
        ("-3", IN, _in("-3")),
        ("+22", IN, _in("22")),
        ("1.15 ft", IN, Fraction("350.52")),
        ("351 mm", IN, Fraction(351)),
        ("35.1cm", IN, Fraction(351)),
        ("\N{MINUS SIGN}3", IN, _in("-3")),
        ("⅜", IN, _in("3/8")),
        # A bare number has the job's unit.
        ("3", IN, _in("3")),
        ("3", FT_IN, _in("3")),
        ("3", FT, Fraction("914.4")),
        ("3", MM, Fraction(3)),
        ("3", CM, Fraction(30)),
        ("3", M, Fraction(3000)),
        # A keypad has no foot mark: only where the job writes feet and inches.
        ("4-3-1/2", FT_IN, _in("51 1/2")),
        ("4 3 1/2", FT_IN, _in("51 1/2")),
        ("4-3", FT_IN, _in("51")),
        ("4 1/2", FT_IN, _in("4 1/2")),
        # Odds and ends of the same.
        ("5'", MM, Fraction(1524)),
        ('3"', MM, Fraction("76.2")),
        ("5' 6\"", MM, Fraction("1676.4")),
        ("5 3/16 in", MM, _in("5 3/16")),
        ("4 ft 3 in", MM, _in("51")),
        ("4'-3 1/2\"", MM, _in("51 1/2")),
        ("4' 3.5\"", MM, _in("51 1/2")),
        ("4' 1/2\"", MM, _in("48 1/2")),
        ("4\N{PRIME} 3\N{DOUBLE PRIME}", MM, _in("51")),
        (
            "4\N{RIGHT SINGLE QUOTATION MARK}3\N{RIGHT DOUBLE QUOTATION MARK}",
            MM,
            _in("51"),
        ),
        ("-0' 0 1/4\"", IN, _in("-1/4")),
        ("13⅜", IN, _in("13 3/8")),
        ("4' 3½\"", IN, _in("51 1/2")),
        ("3\N{FRACTION SLASH}8", IN, _in("3/8")),
        ("3\N{EN DASH}1/2", IN, _in("3 1/2")),
        ("3\N{NO-BREAK SPACE}1/2", IN, _in("3 1/2")),
        ("3\N{NARROW NO-BREAK SPACE}1/2", IN, _in("3 1/2")),
        ("3\N{THIN SPACE}1/2", IN, _in("3 1/2")),
        ("  3   1/2  ", IN, _in("3 1/2")),
        ("- 3", IN, _in("-3")),
        ("3 IN", MM, _in("3")),
        ("3 Mm", IN, Fraction(3)),
        ("1 yd", IN, _in("36")),
        (".5", IN, _in("1/2")),
        (",5", IN, _in("1/2")),
        ("1,25", M, Fraction(1250)),
        ("1.250", M, Fraction(1250)),
        ("010", IN, _in("10")),
        ("08", IN, _in("8")),
        ("0/2", IN, Fraction(0)),
        ("-0", IN, Fraction(0)),
    ],
)
def test_every_usual_way_of_writing_a_length_is_read_exactly(text: str, job: Units, expected_mm: Fraction) -> None:
    assert mm(read_length(text, job)) == expected_mm


HOSTILE = [
    pytest.param("", id="empty"),
    pytest.param("   ", id="spaces-alone"),
    pytest.param("-", id="sign-alone"),
    pytest.param("mm", id="unit-alone"),
    pytest.param("'", id="foot-mark-alone"),
    pytest.param("--3", id="two-signs"),
    pytest.param("+-3", id="plus-and-minus"),
    pytest.param("\N{MINUS SIGN}-3", id="true-minus-and-hyphen"),
    pytest.param("(3)", id="bookkeepers-minus"),
    pytest.param("3-", id="sign-behind"),
    pytest.param("1e3", id="exponent"),
    pytest.param("1.e+3", id="exponent-with-sign"),
    pytest.param("1e400", id="exponent-past-any-float"),
    pytest.param("1e30000000", id="exponent-that-would-fill-the-memory"),
    pytest.param("10**10**10", id="tower-of-powers"),
    pytest.param("nan", id="nan"),
    pytest.param("inf", id="inf"),
    pytest.param("-inf", id="minus-inf"),
    pytest.param("0x10", id="hexadecimal"),
    pytest.param("0o10", id="octal"),
    pytest.param("1_000", id="underscore"),
    pytest.param("1,250", id="comma-that-can-mean-two-things"),
    pytest.param("0,500", id="comma-before-three-places"),
    pytest.param("1,250.5", id="comma-for-thousands"),
    pytest.param("1.250,5", id="point-for-thousands"),
    pytest.param("1 000", id="space-for-thousands"),
    pytest.param("1 000 ft", id="space-for-thousands-in-feet"),
    pytest.param("1'000", id="apostrophe-for-thousands"),
    pytest.param("1.2.3", id="two-points"),
    pytest.param("1.2.3 ft", id="two-points-in-feet"),
    pytest.param("1.", id="nothing-after-the-point"),
    pytest.param("1:30", id="ratio"),
    pytest.param("2024-01-01", id="date"),
    pytest.param("413/16", id="space-lost-before-the-fraction"),
    pytest.param("16/16", id="fraction-that-is-a-whole"),
    pytest.param("3/7", id="fraction-no-tape-has"),
    pytest.param("1/3", id="third"),
    pytest.param("1/0", id="nothing-below-the-line"),
    pytest.param("3 /8", id="space-inside-the-fraction"),
    pytest.param("10 -1/2", id="hyphen-behind-a-space"),
    pytest.param("10- 1/2", id="hyphen-before-a-space"),
    pytest.param("10 - 1/2", id="hyphen-between-spaces"),
    pytest.param("51 \N{MINUS SIGN}3/8", id="true-minus-behind-a-space"),
    pytest.param("10 -½", id="hyphen-before-a-fraction-of-one-character"),
    pytest.param("4' -3\"", id="feet-and-a-minus"),
    pytest.param("4' - 3 1/2\"", id="feet-hyphen-inches-with-spaces"),
    pytest.param("4' 3 -1/2\"", id="feet-inches-and-a-minus"),
    pytest.param("4-3 -1/2", id="without-marks-and-a-minus"),
    pytest.param("12.5/16", id="decimal-in-a-fraction"),
    pytest.param("3 1/2 1/4", id="two-fractions"),
    pytest.param("½½", id="two-fractions-of-one-character"),
    pytest.param("1½2", id="digit-behind-a-fraction"),
    pytest.param("4' 13\"", id="more-inches-than-a-foot"),
    pytest.param("4' 12\"", id="inches-that-make-a-foot"),
    pytest.param("4' 3.5 1/2\"", id="decimal-and-fraction"),
    pytest.param("4' 3'", id="feet-twice"),
    pytest.param("4' -3\" -1", id="sign-inside"),
    pytest.param("1.5' 3\"", id="decimal-feet-with-inches"),
    pytest.param("1 m 20", id="metres-and-something"),
    pytest.param("5 rods", id="unit-not-on-the-list"),
    pytest.param("3 M/s", id="compound-unit"),
    pytest.param("3 pt", id="unit-that-means-two-things"),
    pytest.param("3 min", id="minute"),
    pytest.param("3 in x", id="words-behind"),
    pytest.param("3in.", id="point-behind-the-unit"),
    pytest.param("\N{FULLWIDTH DIGIT ONE}\N{FULLWIDTH DIGIT TWO}", id="fullwidth-digits"),
    pytest.param("\N{ARABIC-INDIC DIGIT THREE}", id="arabic-digit"),
    pytest.param("3\N{SUPERSCRIPT TWO}", id="superscript"),
    pytest.param("\N{CIRCLED DIGIT ONE}", id="circled-digit"),
    pytest.param("\N{LATIN CAPITAL LETTER I WITH DOT ABOVE}", id="letter-that-grows-when-made-small"),
    pytest.param("9" * 25, id="25-digits"),
    pytest.param("9" * 5000, id="5000-digits"),
    pytest.param("0." + "3" * 5000, id="5000-places"),
    pytest.param("12345678", id="eight-digits"),
    pytest.param("3\n", id="line-end-behind"),
    pytest.param("13\n13/16", id="line-end-inside"),
    pytest.param("1 \n 2", id="two-readings-on-two-lines"),
    pytest.param("3\r", id="carriage-return"),
    pytest.param("13\t13/16", id="tab"),
    pytest.param("3\N{LINE SEPARATOR}1/2", id="line-separator"),
    pytest.param("3\x00", id="NUL"),
    pytest.param("3\x1b[2J", id="terminal-escape"),
    pytest.param("3\N{ZERO WIDTH SPACE}", id="zero-width-space"),
    pytest.param("\N{RIGHT-TO-LEFT OVERRIDE}31", id="right-to-left-override"),
    pytest.param("3" + " " * 5000 + "x", id="5000-spaces"),
]


@each_of("job", list(Units))
@each_of("text", HOSTILE)
def test_what_is_no_length_is_refused_in_one_sentence_with_an_example(text: str, job: Units) -> None:
    with pytest.raises(NotUnderstoodError) as refused:
        read_length(text, job)
    says = str(refused.value)
    assert says.endswith(".")
    assert says.isprintable(), "what was typed must not reach a terminal as it is"
    assert len(says) <= 120
    assert re.search(r"\d", says.replace(text.strip() or "\0", "")), "an example is shown"


@pytest.mark.parametrize(
    ("text", "job", "told"),
    [
        ("1,250", IN, "“1,250” can mean two things; type 1.250 or 1250."),
        ("413/16", IN, "413/16 is a whole or more; type the whole apart, like 4-13/16."),
        ("4' 13\"", IN, "13 inches beside feet is a foot or more; type it like 4' 3-1/2\"."),
        ("3/7", IN, "3/7 is on no tape; use halves, 4ths, 8ths, 16ths, 32nds or 64ths, like 3/8."),
        (
            "5 Rods",
            MM,
            "“rods” in “5 Rods” is not a unit of length here; use in, ft, mm, cm or m, like 351.",
        ),
        ("", FT, "Nothing was typed; type a length, for example 4.35."),
        ("9" * 5000, M, "That is 5000 characters long; a length is short, for example 1.351."),
        ("3\n1/2", IN, "That has a character in it that can't be seen; type it like 13 13/16."),
        ("1e3", CM, "“1e3” is not a length; type it like 35.1."),
        ("4-3", IN, "“4-3” is not a length; type it like 13 13/16."),
        ("10 -1/2", IN, "“10 -1/2” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
        ("51 -3/8", IN, "“51 -3/8” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
        ("51 \N{MINUS SIGN}3/8", IN, "“51 -3/8” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
        ("51\N{MINUS SIGN} 3/8", IN, "“51- 3/8” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
        ("51 \N{MINUS SIGN}⅜", IN, "“51 -⅜” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
    ],
)
def test_the_sentence_says_what_was_not_understood_and_what_to_type(text: str, job: Units, told: str) -> None:
    with pytest.raises(NotUnderstoodError, match=f"^{re.escape(told)}$"):
        read_length(text, job)


@pytest.mark.parametrize("job", list(Units))
def test_the_example_each_sentence_shows_is_itself_accepted(job: Units) -> None:
    assert read_length(job.example, job) > ZERO


@given(units.flatmap(lambda job: st.tuples(st.just(job), readings(job))))
def test_whatever_form_a_reading_is_keyed_in_it_means_its_exact_length(drawn: tuple[Units, Typed]) -> None:
    job, typed = drawn
    assert mm(read_length(typed.text, job)) == typed.mm


_GAPS = st.sampled_from(("", " ", "  ", "\N{NO-BREAK SPACE}"))
_DASHES = st.sampled_from(("-", "\N{MINUS SIGN}", "\N{EN DASH}"))


@example("51", " ", "\N{MINUS SIGN}", "", "3/8", "", "", IN)
@example("10", " ", "-", "", "1/2", "", "", IN)
@example("3", "", "-", " ", "⅜", "-", " in", MM)
@given(
    st.integers(0, 9_999).map(str),
    _GAPS,
    _DASHES,
    _GAPS,
    st.sampled_from(("1/2", "3/8", "11/16", "¼", "⅜")),
    st.sampled_from(("", "-", "+", "\N{MINUS SIGN}", "- ")),
    st.sampled_from(("", " in", '"', "mm")),
    units,
)
def test_a_hyphen_joins_inch_and_fraction_unspaced_and_nothing_else(
    whole: str, left: str, dash: str, right: str, fraction: str, sign: str, unit: str, job: Units
) -> None:
    text = f"{sign}{whole}{left}{dash}{right}{fraction}{unit}"
    if left or right:
        with pytest.raises(NotUnderstoodError, match="hyphen"):
            read_length(text, job)
    else:
        size = mm(read_length(f"{sign}{whole} {fraction}{unit}", job))
        assert mm(read_length(text, job)) == size
        assert (size < 0) == (sign[:1] in ("-", "\N{MINUS SIGN}"))


@pytest.mark.parametrize("typed", ["51-3/8", "51\N{MINUS SIGN}3/8", "51 3/8", "51-⅜", "51⅜"])
def test_with_no_space_beside_it_a_true_minus_joins_as_a_hyphen_does(typed: str) -> None:
    assert mm(read_length(typed, IN)) == Fraction("1304.925")  # 51.375 x 25.4


@given(
    st.integers(1, 99).map(str),
    st.sampled_from(("'", " ft", "ft", "\N{PRIME}")),
    _GAPS,
    _DASHES,
    _GAPS,
    st.sampled_from(("3", "3 1/2", "3-1/2", "3.5", "1/2", "½")),
    units,
)
def test_a_hyphen_joins_feet_and_inches_by_the_same_rule(
    foot: str, mark: str, left: str, dash: str, right: str, inch: str, job: Units
) -> None:
    text = f'{foot}{mark}{left}{dash}{right}{inch}"'
    if left or right:
        with pytest.raises(NotUnderstoodError, match="hyphen"):
            read_length(text, job)
    else:
        assert read_length(text, job) == read_length(f'{foot}{mark} {inch}"', job)


@given(
    st.lists(st.sampled_from(("4", "3", "1/2", "½", "'", "in", " ", "-", "\N{MINUS SIGN}", "+")), max_size=8), units
)
def test_a_sign_with_a_space_never_stands_inside_a_length(pieces: list[str], job: Units) -> None:
    text = "".join(pieces)
    try:
        read_length(text, job)
    except NotUnderstoodError:
        return
    inside = " ".join(text.replace("\N{MINUS SIGN}", "-").split())[1:].lstrip()
    assert " -" not in inside
    assert "- " not in inside
    assert "+" not in inside


@example("12' 3 1/2\"", IN)
@given(st.text(max_size=40), units)
def test_no_text_gives_anything_but_a_length_or_a_sentence(text: str, job: Units) -> None:
    try:
        length = read_length(text, job)
    except NotUnderstoodError as refused:
        says = str(refused)
    else:
        says = ""
        assert abs(length) < feet(10**8)
    assert says.isprintable()


def test_a_length_has_24_characters_at_most() -> None:
    longest = "12345 feet 11-63/64 inch"
    assert len(longest) == 24
    assert read_length(longest, MM) == feet(12345) + inches(11 + Fraction(63, 64))
    with pytest.raises(NotUnderstoodError, match="That is 25 characters long"):
        read_length(f"+{longest}", MM)


@given(st.text(alphabet="0123456789-+/.,' \"½infmcyd", max_size=LONGEST), units)
def test_a_sign_in_front_turns_a_length_round_and_changes_nothing_else(text: str, job: Units) -> None:
    signed = text.strip()[:1] in ("-", "+")
    try:
        length = read_length(text, job)
    except NotUnderstoodError:
        for sign in "" if signed else "-+":
            with pytest.raises(NotUnderstoodError):
                read_length(f"{sign}{text}", job)
    else:
        if not signed and len(text) < LONGEST:
            assert read_length(f"-{text}", job) == -length
            assert read_length(f"+{text}", job) == length


def test_the_units_of_a_length_are_as_the_published_definitions() -> None:
    spelled = {"'": "foot", '"': "inch"}
    for name, metres in LENGTH_UNITS.items():
        assert everything().Quantity(Fraction(1), spelled.get(name, name)).to("m").magnitude == metres, name


def test_an_inch_is_the_same_whichever_way_it_is_named() -> None:
    assert {read_length(f"1 {name}", MM) for name in ("in", "inch", "inches", '"')} == {inches(1)}
    assert {read_length(f"1 {name}", MM) for name in ("ft", "foot", "feet", "'")} == {feet(1)}


@pytest.mark.parametrize("typed", ["54 7 8", "54.7/8", "54+7/8", "54-7-8", "54 7-8"])
def test_a_fraction_written_otherwise_is_refused_with_the_one_meant(typed: str) -> None:
    with pytest.raises(
        NotUnderstoodError, match=re.escape(f"“{typed}” is not a length; if 54-7/8 is meant, type that.")
    ):
        read_length(typed, Units.IN)


@pytest.mark.parametrize("typed", ["54 7 9", "54 8 8", "54 12 8"])
def test_no_fraction_is_proposed_that_is_on_no_tape(typed: str) -> None:
    with pytest.raises(NotUnderstoodError, match="is not a length; type it like"):
        read_length(typed, Units.IN)
