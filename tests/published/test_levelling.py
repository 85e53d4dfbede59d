"""Levelling arithmetic and conversions against published worked examples, each with its source and status."""

from __future__ import annotations

from fractions import Fraction
from math import atan, degrees

import pytest

from gradecheck.checks.verdict import judge
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show, show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length, feet, inches
from gradecheck.measure.typed import Tolerance, read_length
from gradecheck.measure.units import read_slope
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Rod
from tests.first_things import set_up
from tests.published.sources import (
    DERIVED,
    VERIFIED,
    VERIFIED_2,
    Source,
    agrees,
    in_feet,
    in_inches,
    of,
    plan_with,
    wanted,
)

EXACTLY = Tolerance(ZERO, ZERO)
"""The sources give no tolerance: whatever is not on grade is cut or fill."""


def _rod(units: Units, kind: str = "standard") -> Rod:
    return Rod("rod", "direct" if kind == "direct" else "standard", Notation.usual(units))


def _up(text: str, units: Units = Units.FT) -> Elevation:
    return Elevation(read_length(text, units).metres)


def _printed(elevation: Elevation, units: Units = Units.FT) -> str:
    return show(elevation.height, Notation.usual(units))


# Single setups -----------------------------------------------------------------------------------------------

CUT_STAKE = Source("NAVEDTRA 14081, Equipment Operator, p. 15-30, fig. 15-51 (A)", VERIFIED)
FILL_STAKE = Source("NAVEDTRA 14081, Equipment Operator, p. 15-30, fig. 15-51 (B)", VERIFIED)
BM_ROCK = Source("levelling lecture excerpt, textbook example “BM Rock”", VERIFIED_2)
EXERCISE = Source("public exercise page on levelling", VERIFIED_2)


def test_hi_1_fill_where_grade_lies_above_the_plane_of_the_instrument() -> None:
    """HI-1: NAVEDTRA 14081, Equipment Operator, p. 15-30, fig. 15-52 [VERIFIED].

    The text misprints the ground once as 376.15; its answer, 3.6, is right.
    """
    setup = set_up(_rod(Units.FT), _up("365.01"), read_length("11.56", Units.FT))
    assert _printed(setup.zero) == "376.57"
    ground = setup.elevation(read_length("1.42", Units.FT))
    assert _printed(ground) == "375.15"
    # Grade is above the plane: the rod that would be right reads below nothing, and is no typing mistake.
    assert setup.grade_rod(_up("378.75")) == read_length("-2.18", Units.FT)
    verdict = judge(ground, _up("378.75"), EXACTLY)
    assert (verdict.word, verdict.difference) == (Word.FILL, read_length("-3.60", Units.FT))


@pytest.mark.parametrize(
    ("stake", "hub_reading", "reading", "wanted_reading", "word", "more"),
    [
        pytest.param("-7.5", "5.0", "12.2", "12.5", Word.CUT, "0.3", id=of("HI-2", CUT_STAKE)),
        pytest.param("7.0", "12.0", "5.5", "5.0", Word.FILL, "-0.5", id=of("HI-3", FILL_STAKE)),
    ],
)
def test_a_stake_says_how_far_grade_is_from_its_hub(
    stake: str, hub_reading: str, reading: str, wanted_reading: str, word: Word, more: str
) -> None:
    hub = _up("0")
    grade = hub + read_length(stake, Units.FT)
    setup = set_up(_rod(Units.FT), hub, read_length(hub_reading, Units.FT))
    assert setup.grade_rod(grade) == read_length(wanted_reading, Units.FT)
    verdict = judge(setup.elevation(read_length(reading, Units.FT)), grade, EXACTLY)
    assert (verdict.word, verdict.difference) == (word, read_length(more, Units.FT))


@pytest.mark.parametrize(
    ("mark", "backsight", "foresight", "plane", "found"),
    [
        pytest.param("820.00", "8.42", "1.20", "828.42", "827.22", id=of("HI-4", BM_ROCK)),
        pytest.param("520.50", "4.25", "6.80", "524.75", "517.95", id=of("HI-5", EXERCISE)),
        pytest.param("2156.77", "2.67", "6.72", "2159.44", "2152.72", id=of("HI-6", EXERCISE)),
    ],
)
def test_backsight_up_and_foresight_down(mark: str, backsight: str, foresight: str, plane: str, found: str) -> None:
    setup = set_up(_rod(Units.FT), _up(mark), read_length(backsight, Units.FT))
    assert _printed(setup.zero) == plane
    assert _printed(setup.elevation(read_length(foresight, Units.FT))) == found


# Whole pages of notes -----------------------------------------------------------------------------------------

# A setup: its backsight, the HI where the source prints one, and the sights: point, reading, elevation. The last
# sight is the turning point that the next setup stands on.
Sight = tuple[str, str, str]
Stand = tuple[str, str | None, list[Sight]]

NOTE_1: list[Stand] = [
    ("3.10", "103.10", [("TP1", "9.82", "93.28")]),
    ("6.44", "99.72", [("TP2", "6.96", "92.76")]),
    ("8.76", "101.52", [("TP3", "3.27", "98.25")]),
    ("7.12", "105.37", [("BM B", "10.42", "94.95")]),
]
# The source misprints the fall to point 2 as 1.7290 (1.790) and point 7 as 149.450 (149.400).
NOTE_2: list[Stand] = [
    ("1.205", None, [("1", "1.860", "149.830")]),
    ("0.125", None, [("2", "1.915", "148.040")]),
    ("0.395", None, [("3", "2.615", "145.820")]),
    ("0.880", None, [("4", "1.760", "144.940")]),
    ("1.960", None, [("5", "0.920", "145.980")]),
    ("2.595", None, [("6", "0.915", "147.660")]),
    ("2.255", None, [("7", "0.515", "149.400")]),
    ("2.305", None, [("BM", "1.170", "150.535")]),
]
NOTE_3: list[Stand] = [
    ("6.482", "46.482", [("CP1", "2.159", "44.323")]),
    (
        "5.844",
        "50.167",
        [
            ("C", "3.141", "47.026"),
            ("D underside of bridge, rod inverted", "-2.956", "53.123"),
            ("E", "5.600", "44.567"),
            ("CP2", "7.318", "42.849"),
        ],
    ),
    ("4.298", "47.147", [("F", "3.015", "44.132"), ("BM2", "4.264", "42.883")]),
]
# The page's printed answer, “closes exactly”, is wrong: the arithmetic does not close.
NOTE_4: list[Stand] = [
    ("5.65", None, [("TP1", "4.53", "251.12")]),
    ("6.77", None, [("TP2", "2.81", "255.08")]),
    ("4.23", None, [("MH", "12.11", "247.20"), ("CB", "11.08", "248.23"), ("TP3", "6.54", "252.77")]),
    ("3.96", None, [("BM A", "6.83", "249.90")]),
]

NOTE_1_PAGE = Source("public question page, textbook not identified", VERIFIED_2)
NOTE_2_PAGE = Source("NPTEL Surveying (IIT course), module 4, Ex13-1", VERIFIED)
NOTE_3_PAGE = Source("Papua New Guinea University of Technology, Surveying, lecture on level books", VERIFIED)
NOTE_4_PAGE = Source("public question page", f"{VERIFIED_2} inputs, {DERIVED} answer")

NOTES = [
    pytest.param(Units.FT, "100.00", NOTE_1, "25.42", "30.47", "94.91", "0.04", id=of("NOTE-1", NOTE_1_PAGE)),
    pytest.param(Units.M, "150.485", NOTE_2, "11.720", "11.670", "150.485", "0.050", id=of("NOTE-2", NOTE_2_PAGE)),
    pytest.param(Units.M, "40.000", NOTE_3, "16.624", "13.741", None, None, id=of("NOTE-3", NOTE_3_PAGE)),
    pytest.param(Units.FT, "250.00", NOTE_4, "20.61", "20.71", "250.00", "-0.10", id=of("NOTE-4", NOTE_4_PAGE)),
]


def _walk(units: Units, start: str, notes: list[Stand]) -> list[tuple[str, Elevation, Elevation, str]]:
    """Every sight's name, setup plane, elevation as we find it and as printed; each turning point carries on."""
    here = _up(start, units)
    found = []
    for backsight, _, sights in notes:
        setup = set_up(_rod(units), here, read_length(backsight, units))
        for name, reading, printed in sights:
            here = setup.elevation(read_length(reading, units))
            found.append((name, setup.zero, here, printed))
    return found


@pytest.mark.parametrize(("units", "start", "notes", "backsights", "foresights", "known", "misclosure"), NOTES)
def test_a_page_of_notes_walked_through_gives_every_printed_elevation(
    units: Units, start: str, notes: list[Stand], backsights: str, foresights: str, known: str, misclosure: str
) -> None:
    for name, _, elevation, printed in _walk(units, start, notes):
        assert elevation == _up(printed, units), name
        assert _printed(elevation, units) == printed, name


@pytest.mark.parametrize(("units", "start", "notes", "backsights", "foresights", "known", "misclosure"), NOTES)
def test_every_printed_height_of_instrument_is_the_plane_of_our_set_up(
    units: Units, start: str, notes: list[Stand], backsights: str, foresights: str, known: str, misclosure: str
) -> None:
    here = _up(start, units)
    for backsight, plane, sights in notes:
        setup = set_up(_rod(units), here, read_length(backsight, units))
        assert plane is None or _printed(setup.zero, units) == plane
        here = setup.elevation(read_length(sights[-1][1], units))
    assert here == _up(notes[-1][2][-1][2], units)


@pytest.mark.parametrize(("units", "start", "notes", "backsights", "foresights", "known", "misclosure"), NOTES)
def test_the_page_check_passes_and_closing_is_another_matter(
    units: Units, start: str, notes: list[Stand], backsights: str, foresights: str, known: str, misclosure: str
) -> None:
    """Sum of backsights less sum of foresights on turning points is last less first: it proves the sums alone."""
    up = sum((read_length(backsight, units) for backsight, _, _ in notes), ZERO)
    down = sum((read_length(sights[-1][1], units) for _, _, sights in notes), ZERO)
    assert (up, down) == (read_length(backsights, units), read_length(foresights, units))
    last = _walk(units, start, notes)[-1][2]
    assert last.above(_up(start, units)) == up - down
    if known is not None:
        # Misclosure here is the elevation found less the one known.
        assert last.above(_up(known, units)) == read_length(misclosure, units)


# Direct rod ---------------------------------------------------------------------------------------------------

SLIDING_TAPE = Source("direct rod from first principles, the method itself common practice", DERIVED)
TAPE = feet(10)
"""The tape of such a rod begins again every ten feet; that is the rod's, the sum behind it goes on."""


def _on_the_tape(reading: Length) -> Length:
    return Length(reading.metres % TAPE.metres)


@pytest.mark.parametrize(
    ("standard_reading", "elevation", "direct_reading", "shown"),
    [
        pytest.param("6.50", "97.70", "-2.30", "7.70", id=of("DE-1", SLIDING_TAPE)),
        pytest.param("2.85", "101.35", "1.35", "1.35", id=of("DE-2", SLIDING_TAPE)),
    ],
)
def test_a_direct_rod_zeroed_on_the_mark_shows_the_difference_from_it(
    standard_reading: str, elevation: str, direct_reading: str, shown: str
) -> None:
    mark = _up("100.00")
    standard = set_up(_rod(Units.FT), mark, read_length("4.20", Units.FT))
    assert _printed(standard.zero) == "104.20"
    direct = set_up(_rod(Units.FT, "direct"), mark, read_length("0.00", Units.FT))
    ground = standard.elevation(read_length(standard_reading, Units.FT))
    assert _printed(ground) == elevation
    assert direct.grade_rod(ground) == read_length(direct_reading, Units.FT)
    assert direct.elevation(read_length(direct_reading, Units.FT)) == ground
    assert _on_the_tape(direct.grade_rod(ground)) == read_length(shown, Units.FT)


def test_de_3_a_direct_rod_zeroed_on_grade_reads_cut_and_fill_itself() -> None:
    """DE-3: direct rod from first principles [DERIVED]; the method itself is common practice, no source."""
    grade = _up("0")
    standard = set_up(_rod(Units.FT), grade, read_length("6.25", Units.FT))
    ground = standard.elevation(read_length("6.05", Units.FT))
    direct = set_up(_rod(Units.FT, "direct"), grade, ZERO)
    assert direct.grade_rod(ground) == read_length("0.20", Units.FT)
    verdict = judge(direct.elevation(read_length("0.20", Units.FT)), grade, EXACTLY)
    assert (verdict.word, verdict.difference) == (Word.CUT, read_length("0.20", Units.FT))
    assert in_inches(verdict.difference) == Fraction("2.40")


def test_de_4_a_moved_instrument_makes_every_reading_wrong_by_the_move() -> None:
    """DE-4: direct rod from first principles [DERIVED]; the method itself is common practice, no source."""
    old = set_up(_rod(Units.FT, "direct"), _up("100.00"), ZERO)
    old_plane, new_plane, ground = _up("104.20"), _up("105.10"), _up("97.70")
    # The tape still stands as it was set, 4.20 ft ahead of the standard figures.
    shows = read_length("4.20", Units.FT) - new_plane.above(ground)
    assert _on_the_tape(shows) == read_length("6.80", Units.FT)
    assert old.elevation(shows).above(ground) == read_length("-0.90", Units.FT) == old_plane.above(new_plane)
    again = set_up(_rod(Units.FT, "direct"), ground, shows)
    assert again.elevation(shows) == ground


# Conversions --------------------------------------------------------------------------------------------------

MATH_FORUM = Source("Math Forum answer", VERIFIED)
CONVERSION_PAGE = Source("public conversion page", VERIFIED_2)
CONVERSION_ROUNDED = Source("public conversion page, last step worked out", f"{VERIFIED_2} / {DERIVED}")


@pytest.mark.parametrize(
    ("typed", "decimal_feet"),
    [
        pytest.param("16 ft 10 5/8 in", "16.885417", id=of("CV-1", MATH_FORUM)),
        # The page prints 7.3955, having rounded on the way.
        pytest.param("7 ft 4 3/4 in", "7.395833", id=of("CV-2", CONVERSION_PAGE)),
    ],
)
def test_feet_and_inches_in_decimal_feet(typed: str, decimal_feet: str) -> None:
    length = read_length(typed, Units.FT_IN)
    assert agrees(in_feet(length), decimal_feet)
    assert show_exact(length, Units.FT) == f"{float(in_feet(length)):.4f}"


@pytest.mark.parametrize(
    ("typed", "exact", "on_the_rod"),
    [
        pytest.param("6.37 ft", "6' 4.44\"", "6' 4 7/16\"", id=of("CV-3", CONVERSION_ROUNDED)),
        pytest.param("147.63 ft", "147' 7.56\"", "147' 7 9/16\"", id=of("CV-4", CONVERSION_ROUNDED)),
    ],
)
def test_decimal_feet_in_feet_and_inches(typed: str, exact: str, on_the_rod: str) -> None:
    length = read_length(typed, Units.FT)
    assert show_exact(length, Units.FT_IN) == exact
    assert show(length, Notation.usual(Units.FT_IN)) == on_the_rod


def test_cv_5_a_hundredth_of_a_foot_is_not_an_eighth_of_an_inch() -> None:
    """CV-5: arithmetic [DERIVED]."""
    hundredth = read_length("0.01", Units.FT)
    assert show_exact(hundredth, Units.IN, unit=True) == "0.12 in"
    assert in_inches(hundredth) * 16 == Fraction("1.92")
    assert hundredth != inches(Fraction(1, 8))
    assert agrees(in_feet(inches(Fraction(1, 8))), "0.0104")
    # On a rod with sixteenths the two still print alike, as rounding must.
    assert nearest(hundredth, inches(Fraction(1, 16))) == inches(Fraction(1, 8))


FRACTION_TABLE = Source("public table of inch fractions, its rounding slips put right by arithmetic", VERIFIED_2)
FRACTIONS = [
    # The table prints 1/4 in as 0.020883 ft.
    ("1/16", "0.005208", "1.5875"),
    ("1/8", "0.010417", "3.175"),
    ("3/16", "0.015625", "4.7625"),
    ("1/4", "0.020833", "6.35"),
    ("5/16", "0.026042", "7.9375"),
    ("3/8", "0.031250", "9.525"),
    ("7/16", "0.036458", "11.1125"),
    ("1/2", "0.041667", "12.7"),
    ("9/16", "0.046875", None),
    ("5/8", "0.052083", None),
    ("11/16", "0.057292", None),
    ("3/4", "0.062500", None),
    ("13/16", "0.067708", None),
    ("7/8", "0.072917", None),
    ("15/16", "0.078125", None),
    ("1", "0.083333", None),
]


@pytest.mark.parametrize(
    ("fraction", "decimal_feet", "millimetres"),
    [pytest.param(*row, id=of(f"{row[0]} in", FRACTION_TABLE)) for row in FRACTIONS],
)
def test_inch_fractions_in_feet_and_millimetres(fraction: str, decimal_feet: str, millimetres: str | None) -> None:
    length = read_length(f"{fraction} in", Units.FT)
    assert agrees(in_feet(length), decimal_feet)
    assert show(length, Notation.usual(Units.IN)) == fraction
    if millimetres is not None:
        assert show_exact(length, Units.MM) == millimetres
        assert read_length(millimetres, Units.MM) == length


SLOPE_TABLE = Source("slope table: percent = 100 rise/run, in/ft = 0.12 percent, degrees by the arc tangent", DERIVED)
SLOPES = [
    # percent, inches in a foot, one in so many, degrees
    ("0.5", "0.06", "200", "0.286"),
    ("1", "0.12", "100", "0.573"),
    ("1.0417", "1/8", "96", "0.597"),
    ("1.5", "0.18", "66.67", "0.859"),
    ("2", "0.24", "50", "1.146"),
    ("2.0833", "1/4", "48", "1.193"),
    ("4", "0.48", "25", "2.291"),
    ("5", "0.60", "20", "2.862"),
    ("8.3333", "1", "12", "4.764"),
    ("10", "1.2", "10", "5.711"),
    ("25", "3", "4", "14.036"),
    ("33.333", "4", "3", "18.435"),
    ("50", "6", "2", "26.565"),
    ("100", "12", "1", "45"),
]


@pytest.mark.parametrize(
    ("percent", "in_per_foot", "one_in", "angle"),
    [pytest.param(*row, id=of(f"{row[0]}%", SLOPE_TABLE)) for row in SLOPES],
)
def test_one_slope_in_all_its_ways_of_writing(percent: str, in_per_foot: str, one_in: str, angle: str) -> None:
    # Inches in a foot are exact in every column of the table; the others are rounded as printed.
    slope = read_slope(f"{in_per_foot} in/ft")
    assert agrees(slope.percent, percent)
    assert agrees(read_slope(f"{percent}%").percent, percent)
    assert agrees(1 / slope.ratio, one_in)
    assert agrees(1 / read_slope(f"1:{one_in}").ratio, one_in)
    assert agrees(Fraction(degrees(atan(slope.ratio))), angle)
    assert agrees(Fraction(degrees(atan(read_slope(f"{angle} deg").ratio))), angle)
    if "." not in percent or len(percent) <= 3:
        assert read_slope(f"{percent}%") == slope
    if "." not in one_in:
        assert read_slope(f"1:{one_in}") == slope


def test_two_percent_is_not_a_quarter_inch_in_a_foot() -> None:
    """Arithmetic [DERIVED], over a run of 20 ft."""
    plan = plan_with(
        """
        PERCENT: {from: ZERO, fall: 2%, over: 20 ft}
        QUARTER: {from: ZERO, fall: 1/4 in/ft, over: 20 ft}
        """
    )
    percent, quarter = wanted(plan, "PERCENT"), wanted(plan, "QUARTER")
    assert (in_inches(percent), in_inches(quarter)) == (Fraction("-4.80"), Fraction("-5.00"))
    assert in_inches(percent - quarter) * 16 == Fraction("3.2")
