"""A slip is asked about before it is kept, and a day of honest work is left in peace."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.blunders import question
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show
from gradecheck.measure.quantities import ZERO, Length, feet, inches, metres, millimetres
from gradecheck.measure.typed import NotUnderstoodError, Tolerance, read_length
from tests.strategies import IN_MM, lengths, mm, notations, of_mm, tolerances

Kind = Literal["standard", "direct"]
KINDS: tuple[Kind, ...] = ("standard", "direct")

KEEPS = " Enter again keeps it; Escape, then enter another."
IN_CONTROL = ("1/16", "0", "-1/16", "0", "1/16")
DUG_ONCE = ("6 1/4", "5 3/4", "6 1/8", "6", "5 7/8")


def _ask(
    units: Units, kind: Kind, allowed: str, wanted: str, typed: str, recent: tuple[str, ...] = IN_CONTROL
) -> str | None:
    """The question, with the tolerance and the neighbours' differences in inches."""
    tolerance = read_length(allowed, Units.IN)
    return question(
        typed,
        read_length(typed, units),
        read_length(wanted, units),
        Notation.usual(units),
        Tolerance(tolerance, tolerance),
        kind,
        [read_length(one, Units.IN) for one in recent],
    )


@pytest.mark.parametrize(
    ("units", "kind", "allowed", "wanted", "typed", "asked"),
    [
        pytest.param(Units.IN, "standard", "3/8", "40 3/16", "52 1/4",
                     "52 1/4 may be a whole foot too much; 40 1/4 would be ON GRADE.", id="a foot too many"),
        pytest.param(Units.IN, "direct", "3/8", "40 3/16", "28 1/4",
                     "28 1/4 may be a whole foot too little; 40 1/4 would be ON GRADE.", id="a foot too few"),
        pytest.param(Units.FT_IN, "standard", "1/4", "4' 4 1/8\"", "5-4-1/8",
                     "5-4-1/8 may be a whole foot too much; 4' 4 1/8\" would be ON GRADE.", id="feet, inches"),
        pytest.param(Units.FT, "standard", "3/8", "4.36", "3.35",
                     "3.35 may be a whole foot too little; 4.35 would be ON GRADE.", id="a foot in hundredths"),
        pytest.param(Units.FT, "standard", "1/2", "4.36", "4.45",
                     "4.45 may be a tenth of a foot too much; 4.35 would be ON GRADE.", id="a tenth of a foot"),
        pytest.param(Units.MM, "standard", "3/8", "1353", "2351",
                     "2351 may be a whole meter too much; 1351 would be ON GRADE.", id="a metre"),
        pytest.param(Units.M, "direct", "3/8", "1.353", "1.251",
                     "1.251 may be 100 mm too little; 1.351 would be ON GRADE.", id="100 mm"),
        pytest.param(Units.CM, "standard", "1/8", "135.2", "136.1",
                     "136.1 may be 10 mm too much; 135.1 would be ON GRADE.", id="10 mm"),
        pytest.param(Units.IN, "standard", "3/8", "40 3/16", "41 1/4",
                     "41 1/4 may be an inch too much; 40 1/4 would be ON GRADE.", id="an inch"),
        pytest.param(Units.IN, "standard", "1/4", "40", "40 5/8",
                     "40 5/8 may be ten marks of the rod too much; 40 would be ON GRADE.", id="ten marks"),
        pytest.param(Units.IN, "standard", "1/8", "40 3/8", "40 3/16",
                     "40 3/16 may have another fraction; 40 3/8 would be ON GRADE.", id="sixteenths for eighths"),
        pytest.param(Units.IN, "standard", "1/8", "40 7/16", "40 7/8",
                     "40 7/8 may have another fraction; 40 7/16 would be ON GRADE.", id="eighths for sixteenths"),
        pytest.param(Units.IN, "direct", "1/4", "-40 5/16", "-40 15/16",
                     "-40 15/16 may have another fraction; -40 5/16 would be ON GRADE.", id="a one too many"),
        pytest.param(Units.IN, "direct", "1/4", "-40 15/16", "-40 5/16",
                     "-40 5/16 may have another fraction; -40 15/16 would be ON GRADE.", id="a one lost"),
        pytest.param(Units.FT_IN, "standard", "1/4", "3' 4 3/4\"", "3' 4 1/4\"",
                     "3' 4 1/4\" may have another fraction; 3' 4 3/4\" would be ON GRADE.", id="from the wrong end"),
        pytest.param(Units.IN, "standard", "3/8", "52 1/8", "25 1/4",
                     "25 1/4 may have two digits swapped; 52 1/4 would be ON GRADE.", id="digits of inches"),
        pytest.param(Units.FT, "standard", "3/8", "4.36", "4.53",
                     "4.53 may have two digits swapped; 4.35 would be ON GRADE.", id="digits of hundredths"),
        pytest.param(Units.M, "standard", "3/8", "1.352", "3.151",
                     "3.151 may have two digits swapped; 1.351 would be ON GRADE.", id="digits at the point"),
        pytest.param(Units.IN, "direct", "3/8", "-3 1/2", "3 9/16",
                     "3 9/16 may lack its minus, or the rod is upside down; -3 9/16 would be ON GRADE.",
                     id="no minus"),
        pytest.param(Units.IN, "direct", "3/8", "3 1/2", "-3 9/16",
                     "-3 9/16 may have a minus too many, or the rod is upside down; 3 9/16 would be ON GRADE.",
                     id="upside down"),
        pytest.param(Units.IN, "standard", "3/8", "40 3/16", "-40 1/4",
                     "-40 1/4 may have a minus too many; 40 1/4 would be ON GRADE.", id="a dash before the figure"),
        pytest.param(Units.IN, "standard", "3/8", "52", "104",
                     "104 is FILL 52 in, way off for this spot; check the point and which end of the rod is up.",
                     id="a 13 ft rod upside down"),
        pytest.param(Units.MM, "direct", "1/8", "1353", "1378",
                     "1378 is CUT 25 mm, way off for this spot; check the point and which end of the rod is up.",
                     id="another point"),
    ],
)  # fmt: skip
def test_a_slip_is_named_with_what_was_likely_meant(
    units: Units, kind: Kind, allowed: str, wanted: str, typed: str, asked: str
) -> None:
    assert _ask(units, kind, allowed, wanted, typed) == asked + KEEPS


def test_a_figure_finer_than_the_rod_is_asked_about_as_it_was_keyed() -> None:
    asked = _ask(Units.FT, "standard", "3/8", "4.36", "5.355")
    assert asked == "5.355 may be a whole foot too much; 4.355 would be ON GRADE." + KEEPS


@pytest.mark.parametrize(
    ("units", "wanted", "typed", "asked"),
    [
        pytest.param(Units.IN, "60", "1.562 m", "1.562 m may have two digits swapped; 1.526 m would be", id="metres"),
        pytest.param(Units.IN, "47 3/8", "4' 11-3/8\"",
                     "4' 11-3/8\" may be a whole foot too much; 3' 11 3/8\" would be", id="feet and inches"),
        pytest.param(Units.IN, "49.68", "5.14 ft",
                     "5.14 ft may be a whole foot too much; 4.14 ft would be", id="feet"),
        pytest.param(Units.IN, "48 1/2", "60-1/2\"", "60-1/2\" may be a whole foot too much; 48 1/2 in would be",
                     id="inches"),
        pytest.param(Units.IN, "48 1/2", "60-1/2", "60-1/2 may be a whole foot too much; 48 1/2 would be", id="bare"),
        pytest.param(Units.FT_IN, "48 1/2", "60-1/2", "60-1/2 may be a whole foot too much; 48 1/2 would be",
                     id="bare inches where the job writes feet and inches"),
        pytest.param(Units.MM, "1353", "145.1 cm",
                     "145.1 cm may be 100 mm too much; 135.1 cm would be", id="centimetres"),
        pytest.param(Units.MM, "1.353 m", "48 in", "48 in is CUT 134 mm, way off", id="on a rod in mm"),
    ],
)  # fmt: skip
def test_the_question_names_figures_in_the_unit_that_was_keyed(
    units: Units, wanted: str, typed: str, asked: str
) -> None:
    assert (_ask(units, "standard", "3/8", wanted, typed) or "").startswith(asked)


@pytest.mark.parametrize("typed", ["59 3/8", "60 3/8", "59-3/8", "59 5/16"])
def test_a_figure_that_is_on_grade_is_not_asked_about(typed: str) -> None:
    """With 1/2 in allowed and 59 7/8 wanted all are within; what is farther off is asked about."""
    assert (_ask(Units.IN, "standard", "1/2", "59 7/8", typed) is None) == (typed != "59 5/16")


@given(
    notation=notations(),
    tolerance=tolerances(),
    kind=st.sampled_from(KINDS),
    wanted=lengths,
    part=st.fractions(0, 1, max_denominator=50),
    recent=st.lists(lengths, max_size=22),
)
def test_nothing_within_the_tolerance_is_asked_about_whatever_lies_around(
    notation: Notation, tolerance: Tolerance, kind: Kind, wanted: Length, part: Fraction, recent: list[Length]
) -> None:
    off = -tolerance.low + (tolerance.high + tolerance.low) * part
    reading = wanted - off if kind == "standard" else wanted + off
    assert question("12", reading, wanted, notation, tolerance, kind, recent) is None


def test_what_was_meant_need_not_be_on_grade() -> None:
    """In an area dug down to six inches above grade, a hole of six inches is a foot misread."""
    asked = _ask(Units.IN, "standard", "1/2", "40", "46", DUG_ONCE)
    assert asked == "46 may be a whole foot too much; 34 would be CUT 6 in." + KEEPS


def test_two_mistakes_that_explain_it_leave_the_one_that_fits_best() -> None:
    """1 1/16 in low on a subgrade: an inch leaves 1/16, ten marks leave 7/16."""
    asked = _ask(Units.IN, "standard", "1/2", "40", "41 1/16")
    assert asked == "41 1/16 may be an inch too much; 40 1/16 would be ON GRADE." + KEEPS


@pytest.mark.parametrize(
    ("allowed", "wanted", "typed", "recent"),
    [
        pytest.param("1/2", "40", "34", (), id="six inches to cut on a fresh subgrade"),
        pytest.param("1/2", "40", "21 1/2", (), id="untouched ground eighteen inches high"),
        pytest.param("1/2", "40", "34", ("1/8",), id="the second point still to be dug"),
        pytest.param("1/2", "40", "31", ("4",), id="the ground rises"),
        pytest.param("1/2", "40", "37", DUG_ONCE, id="half of the cut done"),
        pytest.param("1/2", "40", "40 1/16", DUG_ONCE, id="the first point down to grade"),
        pytest.param("1/2", "40", "34", ("6", "2", "1/8", "5", "1", "0"), id="dug point by point"),
        pytest.param("1/2", "40", "40 3/4", DUG_ONCE, id="a quarter inch too deep while digging"),
        pytest.param("3/8", "40", "40 3/8", IN_CONTROL, id="at the limit"),
        pytest.param("1/2", "40 3/8", "40 3/16", IN_CONTROL, id="a swapped fraction within the scatter"),
        pytest.param("3/8", "40", "43", ("-3", "-2 7/8", "-3 1/8", "-3"), id="all of it is low"),
        pytest.param(
            "3/8", "40", "40", ("-3", "-2 7/8", "-3 1/8", "-3"), id="all of it is low but here it was filled"
        ),
        pytest.param("3/8", "40", "40 7/8", ("1", "-3/4", "0", "3/4", "-1/2", "-1"), id="rough all over"),
    ],
)
def test_honest_work_is_left_in_peace(allowed: str, wanted: str, typed: str, recent: tuple[str, ...]) -> None:
    assert _ask(Units.IN, "standard", allowed, wanted, typed, recent) is None


def test_a_first_hole_is_asked_about_where_a_first_heap_is_not() -> None:
    assert _ask(Units.IN, "standard", "1/2", "40", "34", ()) is None
    asked = _ask(Units.IN, "standard", "1/2", "40", "46", ())
    assert asked is not None
    assert asked.startswith("46 is FILL 6 in, way off for this spot")


def test_a_reading_kept_once_is_evidence_for_the_next() -> None:
    """Digging starts in a corner of an area that was in control: one question, not one at every point."""
    assert _ask(Units.IN, "standard", "1/2", "40", "34") is not None
    assert _ask(Units.IN, "standard", "1/2", "40", "33 1/2", (*IN_CONTROL, "6")) is None


def test_a_mistake_speaks_only_past_its_edge_which_is_exact() -> None:
    """Ten marks m, variance v: keyed² - meant² = 7.5 v lies where the difference is m/2 + 3.75 v/m.

    For 3/8 in and a rod in 1/16 in, v = (1/8)² + (1/16)²/12 square inches and m = 5/8 in.
    """
    variance = Fraction(1, 8) ** 2 + Fraction(1, 16) ** 2 / 12
    edge = Fraction(5, 16) + Fraction(15, 4) * variance / Fraction(5, 8)
    wanted = inches(40)
    allowed = inches(Fraction(3, 8))

    def asked(difference: Fraction) -> str | None:
        return question(
            "5",
            wanted - inches(difference),
            wanted,
            Notation.usual(Units.IN),
            Tolerance(allowed, allowed),
            "standard",
            [ZERO],
        )

    assert asked(edge) is None
    assert "ten marks of the rod too little" in (asked(edge + Fraction(1, 10**12)) or "")
    assert asked(-edge) is None
    assert "ten marks of the rod too much" in (asked(-edge - Fraction(1, 10**12)) or "")


@given(
    notation=notations(),
    tolerance=tolerances(),
    kind=st.sampled_from(KINDS),
    wanted=lengths,
    off=lengths,
    recent=st.lists(lengths, max_size=22),
)
def test_whatever_was_keyed_there_is_one_question_or_none(
    notation: Notation, tolerance: Tolerance, kind: Kind, wanted: Length, off: Length, recent: list[Length]
) -> None:
    reading = nearest(wanted - off if kind == "standard" else wanted + off, notation.graduation)
    asked = question(show(reading, notation), reading, wanted, notation, tolerance, kind, recent)
    assert asked is None or (asked.startswith(show(reading, notation)) and asked.endswith("." + KEEPS))


@given(
    notation=notations(),
    tolerance=tolerances(),
    kind=st.sampled_from(KINDS),
    wanted=lengths,
    level=lengths,
    part=st.fractions(0, 1, max_denominator=50),
    points=st.integers(1, 20),
)
def test_nothing_between_grade_and_the_neighbours_is_asked_about(
    notation: Notation, tolerance: Tolerance, kind: Kind, wanted: Length, level: Length, part: Fraction, points: int
) -> None:
    off = level * part
    reading = wanted - off if kind == "standard" else wanted + off
    aside = abs(tolerance.high - tolerance.low)
    if abs(level) > (tolerance.high + tolerance.low + aside + notation.graduation * 2):
        assert question("12", reading, wanted, notation, tolerance, kind, [level] * points) is None


# -- a day on site, drawn; in millimetres until it is keyed, so that no figure is taken from the code under test

STAGES = {"subgrade": Fraction(1, 2), "base": Fraction(3, 8), "bedding": Fraction(1, 4), "finish": Fraction(1, 8)}
RODS = {"1/16 in": Units.IN, "0.01 ft": Units.FT, "1 mm": Units.MM}
# On a rod in feet the step below the foot is ten marks, on a metric one 10 mm are: one slip, planted once.
SLIPS = {
    Units.IN: ("foot", "inch", "ten marks", "fraction", "digits", "sign", "upside down", "far"),
    Units.FT: ("foot", "ten marks", "digits", "sign", "upside down", "far"),
    Units.MM: ("foot", "ten marks", "digits", "sign", "upside down", "far"),
}
PLANTED = 168
"""Slips on each rod at each stage; eight kinds or six share them evenly."""
# In sixteenths: counted from the wrong end, the denominator next to it, a one lost.
TAKEN_FOR = (
    (1, 15), (2, 14), (3, 13), (4, 12), (5, 11), (6, 10), (7, 9),
    (1, 2), (3, 6), (5, 10), (7, 14), (2, 4), (6, 12), (4, 8),
    (1, 11), (3, 13), (5, 15),
)  # fmt: skip


@dataclass(frozen=True)
class Shot:
    """One honest reading, with what was known when it was taken."""

    units: Units
    stage: str
    kind: Kind
    allowed: Length
    wanted: Length
    reading: Length
    recent: tuple[Length, ...]

    @property
    def difference(self) -> Length:
        """Measured less wanted."""
        return self.wanted - self.reading if self.kind == "standard" else self.reading - self.wanted

    def asked(self, keyed: Length) -> str | None:
        """The question, were `keyed` keyed here."""
        notation = Notation.usual(self.units)
        tolerance = Tolerance(self.allowed, self.allowed)
        return question(show(keyed, notation), keyed, self.wanted, notation, tolerance, self.kind, self.recent)


def _grade_rod(draw: random.Random, kind: Kind) -> Length:
    """A standard rod reads 2 to 9 ft; a direct one lies about its zero, in the middle of the rod."""
    low, high = (24, 110) if kind == "standard" else (-40, 40)
    return inches(Fraction(draw.randint(low * 64, high * 64), 64))


def _shot(units: Units, stage: str, kind: Kind, wanted: Length, off_inches: float, before: list[Length]) -> Shot:
    off = of_mm(IN_MM * Fraction(round(off_inches * 10**6), 10**6))
    true = wanted - off if kind == "standard" else wanted + off
    reading = nearest(true, units.graduation)
    shot = Shot(units, stage, kind, inches(STAGES[stage]), wanted, reading, tuple(before[-20:]))
    before.append(shot.difference)
    return shot


def _day(draw: random.Random, rods: Sequence[Units], readings: int = 2000) -> list[Shot]:
    """Areas of 12 to 60 points, each through all its stages by a crew in control: a third of the tolerance."""
    day: list[Shot] = []
    for units in itertools.cycle(rods):
        kind, points = draw.choice(KINDS), draw.randint(12, 60)
        for stage, allowed in STAGES.items():
            before: list[Length] = []
            day += [
                _shot(units, stage, kind, _grade_rod(draw, kind), draw.gauss(0, float(allowed) / 3), before)
                for _ in range(points)
            ]
        if len(day) >= readings:
            break
    return day[:readings]


def _dig(draw: random.Random, units: Units, readings: int = 2000) -> list[Shot]:
    """Subgrades dug from several inches high, in passes over all points or each point down in turn."""
    dug: list[Shot] = []
    while len(dug) < readings:
        kind: Kind = draw.choice(KINDS)
        points = draw.randint(8, 24)
        mean, rise = draw.uniform(3, 9), draw.uniform(-0.15, 0.15)
        ground = [max(0.8, mean + rise * place + draw.gauss(0, 0.6)) for place in range(points)]
        wanted = [_grade_rod(draw, kind) for _ in range(points)]
        steps = _passes(draw, ground) if draw.random() < 0.5 else _in_turn(draw, ground)
        before: list[Length] = []
        dug += [_shot(units, "subgrade", kind, wanted[place], high, before) for place, high in steps]
    return dug[:readings]


def _passes(draw: random.Random, ground: list[float]) -> Iterator[tuple[int, float]]:
    while max(ground) > 1:
        yield from enumerate(ground)
        left = draw.uniform(0.3, 0.6)
        ground = [high * left if high > 1.2 else draw.gauss(0, 1 / 6) for high in ground]
    yield from enumerate(ground)
    yield from ((place, draw.gauss(0, 1 / 6)) for place in range(len(ground)))


def _in_turn(draw: random.Random, ground: list[float]) -> Iterator[tuple[int, float]]:
    for place, start in enumerate(ground):
        high = start
        while high > 1:
            yield place, high
            high *= draw.uniform(0.2, 0.6)
        yield place, high
        yield place, draw.gauss(0, 1 / 6)


def _slipped(draw: random.Random, shot: Shot, slip: str) -> Length | None:
    """What is keyed instead, None where this reading gives no room for such a slip."""
    reading, units = shot.reading, shot.units
    way = draw.choice((-1, 1))
    if slip == "foot":
        size = draw.choice((metres(1), millimetres(100))) if units is Units.MM else feet(1)
        return reading + size * way
    if slip == "inch":
        return reading + inches(way)
    if slip == "ten marks":
        return reading + units.graduation * (10 * way)
    if slip == "fraction":
        return _another_fraction(draw, reading)
    if slip == "digits":
        return _digits_swapped(draw, show(reading, Notation.usual(units)), units)
    if slip == "upside down" and shot.kind == "standard":
        return (metres(4) if units is Units.MM else feet(13)) - reading
    if slip == "far":
        # Another point's figure: 4 to 40 tolerances away.
        return nearest(reading + shot.allowed * (Fraction(draw.randint(400, 4000), 100) * way), units.graduation)
    return -reading


def _another_fraction(draw: random.Random, reading: Length) -> Length | None:
    whole, sixteenths = divmod(abs(mm(reading)) / IN_MM * 16, 16)
    others = [b if a == sixteenths else a for a, b in TAKEN_FOR if sixteenths in (a, b)]
    if not others:
        return None
    size = inches(whole + Fraction(draw.choice(others), 16))
    return size if reading > ZERO else -size


def _digits_swapped(draw: random.Random, text: str, units: Units) -> Length | None:
    digits = [place for place, character in enumerate(text) if character.isdigit()]
    swapped = []
    for first, second in itertools.pairwise(digits):
        if text[first] != text[second] and text[first + 1 : second] in ("", "."):
            characters = list(text)
            characters[first], characters[second] = text[second], text[first]
            swapped.append("".join(characters))
    while swapped:
        try:
            return read_length(swapped.pop(draw.randrange(len(swapped))), units)
        except NotUnderstoodError:
            continue  # the entry box refuses it by itself
    return None


def _planted(draw: random.Random, day: list[Shot]) -> Iterator[tuple[str, Shot, Length]]:
    """Readings of the day spoiled one at a time: as many on each rod, of each slip it allows, at each stage."""
    for units, stage in itertools.product(dict.fromkeys(shot.units for shot in day), STAGES):
        shots = [shot for shot in day if (shot.units, shot.stage) == (units, stage)]
        for slip in SLIPS[units]:
            for _ in range(PLANTED // len(SLIPS[units])):
                yield slip, *_spoiled(draw, shots, slip)


def _spoiled(draw: random.Random, shots: list[Shot], slip: str) -> tuple[Shot, Length]:
    while True:
        shot = draw.choice(shots)
        keyed = _slipped(draw, shot, slip)
        if keyed is not None and keyed != shot.reading:
            return shot, keyed


def test_a_day_of_honest_work_is_quiet_and_its_slips_are_caught() -> None:
    """On each of five days fewer than 1 in 200 of 2,000 readings are questioned; of 100 slips at least 95 are.

    Every slip counts, also those that no guard can tell from honest work because they lie within its scatter:
    10 mm on a subgrade that may be 12.7 mm off, 3/16 for 3/8 in where 1/2 in is allowed.
    """
    caught = planted = 0
    for seed in range(1, 6):
        draw = random.Random(seed)
        day = _day(draw, tuple(RODS.values()))
        questioned = sum(shot.asked(shot.reading) is not None for shot in day)
        assert questioned * 200 < len(day) == 2000, seed
        for _, shot, keyed in _planted(draw, day):
            planted += 1
            caught += shot.asked(keyed) is not None
    assert planted == 5 * len(RODS) * len(STAGES) * PLANTED
    assert caught * 100 >= 95 * planted


@pytest.mark.parametrize("rod", RODS)
def test_on_every_rod_honest_work_is_quiet_and_every_slip_past_the_scatter_is_caught(rod: str) -> None:
    """A slip of more than two tolerances cannot hide in the scatter of a crew in control, whatever its kind."""
    draw = random.Random(rod)
    day = _day(draw, (RODS[rod],), readings=4000)
    assert sum(shot.asked(shot.reading) is not None for shot in day) * 200 < len(day)

    planted, caught = Counter[str](), Counter[str]()
    for slip, shot, keyed in _planted(draw, day):
        if abs(keyed - shot.reading) > shot.allowed * 2:
            planted[slip] += 1
            caught[slip] += shot.asked(keyed) is not None
    assert set(planted) == set(SLIPS[RODS[rod]])
    assert all(caught[slip] * 100 >= 95 * planted[slip] for slip in planted), (planted, caught)


@pytest.mark.parametrize("rod", RODS)
def test_a_day_of_digging_is_quiet(rod: str) -> None:
    draw = random.Random(rod)
    dug = _dig(draw, RODS[rod])
    assert sum(shot.difference > inches(2) for shot in dug) > len(dug) / 4
    assert sum(shot.asked(shot.reading) is not None for shot in dug) * 200 < len(dug) == 2000


@pytest.mark.parametrize("rod", ["1/16 in", "0.01 ft"])
def test_a_foot_too_deep_is_caught_even_while_digging(rod: str) -> None:
    """But for ground a foot high, which a slip of a foot puts on grade; nothing tells that from work done."""
    draw = random.Random(rod)
    dug = [shot for shot in _dig(draw, RODS[rod]) if shot.difference < inches(9)]
    caught = sum(
        shot.asked(shot.reading + (feet(1) if shot.kind == "standard" else feet(-1))) is not None for shot in dug
    )
    assert caught * 100 >= 99 * len(dug) > 0
