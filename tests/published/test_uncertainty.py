"""Uncertainty and guarded decisions against published rules, worked cases and an independent propagation."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import UFloat, ufloat

from gradecheck.checks.verdict import judge
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import INCH, NO_SLOPE, ZERO, Elevation, Length, Slope, feet, inches, millimetres
from gradecheck.measure.typed import Tolerance, read_length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Benchmark, Instrument, Plan, Rechecks, Rod
from gradecheck.survey.level_book import LevelBook, RecordedSetup, SightedMark
from gradecheck.survey.uncertainty import Budget, Carried, expanded, sight_budget
from tests.published.sources import DERIVED, Source, agrees, in_inches, of

FROM_MEMORY = "FROM MEMORY"
UNIFORM = Source("limits evenly likely, a/√3 (JCGM 100:2008, 4.3.7, from memory)", DERIVED)
GUIDE = Source("JCGM 106:2012, clause 7, worked case, numbers re-computed", FROM_MEMORY)
ZONES = Source("zones of ISO 14253-1:2017 (VERIFIED-2) on invented numbers", DERIVED)

ROD = Rod("rod", "standard", Notation.usual(Units.IN))
BESIDE_IT = Instrument(NO_SLOPE, feet(100))
"""A beam and a receiver that leave nothing open, so that only the rod does."""


def _u_inches(standard: float) -> Fraction:
    return Fraction(standard) / INCH


def _read_to(graduation: Length) -> float:
    rod = Rod("rod", "standard", Notation(Units.IN, graduation))
    return sight_budget(BESIDE_IT, rod, ZERO, None).total


# What a graduation leaves open --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("graduation", "in_inches_printed", "in_mm_printed"),
    [
        pytest.param("1/16 in", "0.01804", "0.458", id=of("U-1", UNIFORM)),
        pytest.param("1/8 in", "0.03608", None, id=of("U-2", UNIFORM)),
        pytest.param("0.01 ft", "0.0346", None, id=of("U-3", UNIFORM)),
        pytest.param("1 mm", None, "0.289", id=of("U-4", UNIFORM)),
    ],
)
def test_a_reading_to_the_nearest_mark(
    graduation: str, in_inches_printed: str | None, in_mm_printed: str | None
) -> None:
    standard = _read_to(read_length(graduation, Units.IN))
    if in_inches_printed is not None:
        assert agrees(_u_inches(standard), in_inches_printed)
    if in_mm_printed is not None:
        assert agrees(Fraction(standard) * 1000, in_mm_printed)


def test_u_3_a_reading_to_a_hundredth_of_a_foot_in_feet() -> None:
    """U-3: limits evenly likely [DERIVED]."""
    assert agrees(_u_inches(_read_to(feet(Fraction(1, 100)))) / 12, "0.002887")


def test_u_5_the_difference_of_two_readings_with_all_that_does_not_repeat() -> None:
    """U-5: backsight and foresight to 1/16 in, laser ±1/16 in, repeat 0.020 in as a standard uncertainty [DERIVED].

    The laser counts once here, so it is given to one of the two sights.
    """
    laser = Instrument(NO_SLOPE, feet(100), receiver=inches(Fraction(1, 16)))
    backsight, foresight = sight_budget(BESIDE_IT, ROD, ZERO, None), sight_budget(laser, ROD, ZERO, None)
    repeat = float(inches(Fraction("0.020")).metres)
    together = Budget(backsight.total, foresight.total, repeat, 0.0).total
    assert agrees(_u_inches(together), "0.04851")
    assert agrees(in_inches(expanded(together)), "0.0970")


@given(st.floats(0, 1))
def test_the_expanded_uncertainty_is_twice_the_standard_one_and_never_less(standard: float) -> None:
    """U = k u with k = 2 (JCGM 100:2008, 6.2) [FROM MEMORY]."""
    shown = expanded(standard).metres
    # Twice a float is exact, and so is Fraction(float); the product with the fineness may round once.
    assert shown >= Fraction(standard) * 2 * (1 - Fraction(1, 2**50))
    assert shown - Fraction(standard) * 2 <= Fraction(1, 10**7)


# What is carried ----------------------------------------------------------------------------------------------

INSTRUMENT = Instrument(
    Slope(Fraction(1, 20_000)),
    feet(150),
    receiver=inches(Fraction(1, 32)),
    plumb=Slope(Fraction(1, 50)),
)
TOLERABLE = Rechecks(30, 60, inches(Fraction(1, 8)))


def _plan(instrument: Instrument = INSTRUMENT) -> Plan:
    zero = Elevation(Fraction(0))
    benchmarks = {"DOOR": Benchmark("DOOR", zero), "KERB": Benchmark("KERB", zero)}
    return Plan("Check values", ROD.notation, benchmarks, {"rod": ROD}, {}, TOLERABLE, instrument)


def _chain(book: LevelBook, count: int) -> None:
    """Turning points TP1 ... TPn, each one setup on from the one before, every rod reading 50 in."""
    base = "DOOR"
    for number in range(1, count + 1):
        book.add_setup(RecordedSetup(2 * number, f"S{number}", "rod", ((base, inches(50)),)))
        base = f"TP{number}"
        book.add_mark(base, SightedMark(2 * number + 1, f"M{number}", setup=f"S{number}", rod=inches(50)))


@pytest.mark.parametrize("count", [1, 2, 3, 10, 100])
def test_u_6_an_elevation_carried_over_n_set_ups(count: int) -> None:
    """U-6: u = u0 √(2n), each setup a backsight and a foresight [DERIVED]."""
    plan = _plan()
    book = LevelBook(plan)
    carried = Carried(book, plan)
    _chain(book, count)
    u0 = sight_budget(INSTRUMENT, ROD, inches(50), None).total
    variance = carried.mark_variance(f"TP{count}")
    assert variance is not None
    assert sqrt(variance) == pytest.approx(u0 * sqrt(2 * count), rel=1e-12)


# Against the package `uncertainties`, which carries every sight as a variable of its own.


@given(
    beam=st.fractions(Fraction(1, 10**6), Fraction(1, 1000), max_denominator=10**6),
    run=st.integers(0, 400),  # nought at the laser itself
    receiver=st.integers(1, 32),
    plumb=st.fractions(Fraction(1, 1000), Fraction(1, 20), max_denominator=1000),
    reading=st.integers(-200, 2000).filter(bool),
)
def test_a_sight_has_the_uncertainty_of_the_sum_of_its_parts(
    beam: Fraction, run: int, receiver: int, plumb: Fraction, reading: int
) -> None:
    instrument = Instrument(Slope(beam), feet(1), inches(Fraction(receiver, 64)), Slope(plumb))
    rod = inches(Fraction(reading, 16))
    mark = ufloat(0, float(inches(Fraction(1, 32)).metres) / sqrt(3))
    sensor = ufloat(0, float(instrument.receiver.metres) / sqrt(3))
    slope = ufloat(0, float(beam) / sqrt(3))
    lean = ufloat(0, float(plumb) ** 2 / 2 / sqrt(3))
    told = mark + sensor + slope * float(feet(run).metres) + lean * float(rod.metres)
    assert sight_budget(instrument, ROD, rod, feet(run)).total == pytest.approx(told.std_dev, rel=1e-12)


@st.composite
def _walks(draw: st.DrawFn) -> list[tuple[list[int], int]]:
    """For each setup which marks it stands on, by number, and how many new ones it sees; the first two are given."""
    known, walk = 2, []
    for _ in range(draw(st.integers(1, 8))):
        on = draw(st.lists(st.integers(0, known - 1), min_size=1, max_size=4, unique=True))
        seen = draw(st.integers(1, 3))
        walk.append((on, seen))
        known += seen
    return walk


@given(_walks())
def test_what_marks_carry_is_what_an_independent_propagation_finds(walk: list[tuple[list[int], int]]) -> None:
    """Marks seen from one setup share its error, which a mean of them does not take away."""
    plan = _plan()
    book, names = LevelBook(plan), ["DOOR", "KERB"]
    carried = Carried(book, plan)
    marks: list[UFloat | float] = [0.0, 0.0]
    seq = 0
    for number, (on, seen) in enumerate(walk):
        readings = [inches(10 * number + index) for index in range(len(on) + seen)]
        sights = [ufloat(0, sight_budget(INSTRUMENT, ROD, each, None).total) for each in readings]
        seq += 1
        stood = tuple((names[mark], reading) for mark, reading in zip(on, readings, strict=False))
        book.add_setup(RecordedSetup(seq, f"S{number}", "rod", stood))
        zero = sum((marks[mark] + sight for mark, sight in zip(on, sights, strict=False)), start=0.0) / len(on)
        for reading, sight in zip(readings[len(on) :], sights[len(on) :], strict=True):
            seq += 1
            names.append(f"TP{seq}")
            book.add_mark(names[-1], SightedMark(seq, f"M{seq}", setup=f"S{number}", rod=reading))
            marks.append(zero - sight)
    for name, told in zip(names[2:], marks[2:], strict=True):
        variance = carried.mark_variance(name)
        assert variance is not None
        assert isinstance(told, UFloat)
        assert sqrt(variance) == pytest.approx(told.std_dev, rel=1e-9)


# How likely it conforms ---------------------------------------------------------------------------------------


def _conforms(found: Length, standard: float, low: Length | None, high: Length | None) -> float:
    """How likely the true value lies within the limits."""
    belief = NormalDist(found.mm, standard * 1000)
    below = belief.cdf(low.mm) if low is not None else 0.0
    above = 1 - belief.cdf(high.mm) if high is not None else 0.0
    return 1 - below - above


FAR = millimetres(10_000)
"""A limit that is not in play."""


@pytest.mark.parametrize(
    ("value", "standard", "low", "high", "printed", "word"),
    [
        pytest.param("509.7", "8.6", "490", None, "0.989", Word.ON_GRADE, id=of("PC-1 burst pressure", GUIDE)),
        pytest.param("13.6", "1.8", "12.5", "16.3", "0.663", Word.TOO_CLOSE, id=of("PC-2 viscosity", GUIDE)),
    ],
)
def test_how_likely_a_value_conforms_and_what_a_guarded_decision_says(
    value: str, standard: str, low: str, high: str | None, printed: str, word: Word
) -> None:
    """The guide's cases are of other quantities; a millimetre stands for their unit."""
    found, limit = millimetres(Fraction(value)), millimetres(Fraction(low))
    u = float(millimetres(Fraction(standard)).metres)
    upper = millimetres(Fraction(high)) if high is not None else None
    assert agrees(Fraction(_conforms(found, u, limit, upper)), printed)
    tolerance = Tolerance(high=upper - limit if upper else FAR, low=ZERO)
    assert judge(Elevation(found.metres), Elevation(limit.metres), tolerance, expanded(u)).word is word


def test_pc_1_lies_2_29_standard_uncertainties_inside_its_limit() -> None:
    """PC-1: JCGM 106:2012, clause 7, numbers re-computed [FROM MEMORY]."""
    assert agrees((Fraction("509.7") - 490) / Fraction("8.6"), "2.29")


QUARTER = Tolerance(inches(Fraction(1, 4)), inches(Fraction(1, 4)))
NOWHERE = Elevation(Fraction(0))


@pytest.mark.parametrize(
    ("off", "printed", "word"),
    [
        pytest.param(off, printed, word, id=of(f"PC-3 {off} in", ZONES))
        for off, printed, word in (
            ("0", "1.000", Word.ON_GRADE),
            ("0.125", "0.994", Word.ON_GRADE),
            ("0.1875", "0.894", Word.TOO_CLOSE),
            ("0.25", "0.500", Word.TOO_CLOSE),
            ("0.3125", "0.106", Word.TOO_CLOSE),
        )
    ],
)
def test_a_quarter_inch_with_a_standard_uncertainty_of_a_twentieth(off: str, printed: str, word: Word) -> None:
    # Parts of 0.03 and 0.04 in make 0.05 in together.
    u = Budget(float(inches(Fraction("0.03")).metres), float(inches(Fraction("0.04")).metres), 0.0, 0.0).total
    assert agrees(_u_inches(u), "0.05")
    found = inches(Fraction(off))
    assert agrees(Fraction(_conforms(found, u, -QUARTER.low, QUARTER.high)), printed)
    assert judge(Elevation(found.metres), NOWHERE, QUARTER, expanded(u)).word is word


@given(
    off=st.integers(-400, 400).map(lambda count: inches(Fraction(count, 64))),
    standard=st.integers(1, 2000).map(lambda count: count / 10**6),
)
def test_what_is_decided_guarded_is_right_in_at_least_97_of_100(off: Length, standard: float) -> None:
    """One limit in play, k = 2: 97.7 of 100 from the normal distribution; 95.4 with both in play [DERIVED]."""
    word = judge(Elevation(off.metres), NOWHERE, QUARTER, expanded(standard)).word
    likely = _conforms(off, standard, -QUARTER.low, QUARTER.high)
    # Both limits are in play at once only where the zone that is accepted is next to nothing.
    if word is Word.ON_GRADE:
        assert likely >= 0.954
    if word in (Word.CUT, Word.FILL):
        assert likely <= 1 - 0.977


# The three zones ----------------------------------------------------------------------------------------------

TENTH = inches(Fraction("0.10"))
ACCEPT, UNDECIDED, REJECT = "accept", "undecided", "reject"


def _zone(word: Word) -> str:
    return {Word.ON_GRADE: ACCEPT, Word.TOO_CLOSE: UNDECIDED}.get(word, REJECT)


@pytest.mark.parametrize("sign", [1, -1], ids=["high", "low"])
@pytest.mark.parametrize(
    ("off", "zone"),
    [
        pytest.param(off, zone, id=of(f"DZ-1 {off} in", ZONES))
        for off, zone in (
            ("0.15", ACCEPT),
            ("0.16", UNDECIDED),
            ("0.25", UNDECIDED),
            ("0.34", UNDECIDED),
            ("0.35", REJECT),
            ("0.36", REJECT),
        )
    ],
)
def test_the_zones_of_a_quarter_inch_with_a_tenth_to_guard(off: str, zone: str, sign: int) -> None:
    found = Elevation(inches(Fraction(off) * sign).metres)
    word = judge(found, NOWHERE, QUARTER, TENTH).word
    assert _zone(word) == zone
    if zone == REJECT:
        assert word is (Word.CUT if sign > 0 else Word.FILL)


HAIR = Length(Fraction(1, 10**12))


@pytest.mark.parametrize("sign", [1, -1], ids=["high", "low"])
def test_dz_1_its_edges_belong_to_accept_and_to_reject_exactly(sign: int) -> None:
    """DZ-1: 0.15 = 0.25 - 0.10 is accepted and 0.35 = 0.25 + 0.10 rejected, a hair beside is undecided [DERIVED]."""
    zones = []
    for off in (inches(Fraction("0.15")), inches(Fraction("0.35"))):
        for beside in (-HAIR, ZERO, HAIR):
            found = Elevation((off + beside).metres * sign)
            zones.append(_zone(judge(found, NOWHERE, QUARTER, TENTH).word))
    assert zones == [ACCEPT, ACCEPT, UNDECIDED, UNDECIDED, REJECT, REJECT]
