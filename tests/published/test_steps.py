"""Steps against the published codes: each limit hit exactly passes, a hair beyond does not."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from gradecheck.checks.steps import Flight, FlightCheck, Nosing, Tread, check_flight, flights_of
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, Slope, inches, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Landing, Rise, Steps
from tests.published.sources import DERIVED, VERIFIED, VERIFIED_2, Source, in_inches, of

HAIR = Fraction(1, 10**9)
"""A nanometre, or as little of a slope."""
HOUSE = ("us-residential",)
USUAL, METRIC = Limits(codes=HOUSE), Limits(metric=True, codes=HOUSE)


def _inches(text: str) -> Length:
    return read_length(text, Units.IN)


def _built(*risers: Length) -> Flight:
    at, nosings = Elevation(Fraction(0)), [Nosing("N0", Elevation(Fraction(0)))]
    for number, riser in enumerate(risers, 1):
        at = at + riser
        nosings.append(Nosing(f"N{number}", at))
    return Flight(tuple(nosings))


def _verdicts(check: FlightCheck, rule: str) -> set[str]:
    """What is said wherever that rule is held."""
    return {held.verdict for held in check.held if held.limit.name == rule}


# Limits -------------------------------------------------------------------------------------------------------

RISER = Source("IRC R311.7.5.1 (2018), R318.7.5.1 (2024)", VERIFIED)
TREAD = Source("IRC R311.7.5.2, R318.7.5.2", VERIFIED)
SLOPES = Source("IRC R311.7.7, R318.7.7", VERIFIED_2)
HANDRAIL = Source("IRC R311.7.8, R318.7.8", VERIFIED_2)
GUARD = Source("IRC R312, R321.1.1", VERIFIED_2)
CONCRETE = Source("ACI 117 section 4.5.1, as cited in a trade answer", VERIFIED_2)
OLDER_CODE = Source("BOCA 1981, as cited in a trade answer", VERIFIED_2)

SIX = inches(6)


def _one_riser(height: Length) -> Flight:
    return _built(height)


def _spread(differ: Length) -> Flight:
    # Apart in the flight, so that it is a matter of the whole flight and not of neighbors.
    return _built(SIX, SIX, SIX + differ)


def _neighbors(differ: Length) -> Flight:
    return _built(SIX + differ, SIX)


def _treads(*depths: Length) -> Flight:
    return Flight(_built(SIX, SIX, SIX).nosings, tuple(Tread(f"N{at}", depth) for at, depth in enumerate(depths, 1)))


def _tread_spread(differ: Length) -> Flight:
    return _treads(inches(14), inches(14) + differ)


def _tread_fall(ratio: Length) -> Flight:
    return Flight(_built(SIX, SIX).nosings, (Tread("N1", inches(14), Slope(ratio.metres)),))


def _landing_fall(ratio: Length) -> Flight:
    return Flight(_built(SIX).nosings, (), (Landing("N1", "N1L", inches(48), Slope(ratio.metres)),))


def _drop(height: Length) -> Flight:
    return _built(*[Length(height.metres / 5)] * 5)


CONCRETE_RULES = {
    "neighbor risers differ at most": inches(Fraction(1, 8)).metres,
    "tread varies at most": inches(Fraction(1, 4)).metres,
}
"""What a plan for concrete stairs would set."""

ROWS: list[tuple[str, Source, str, Limits, Callable[[Length], Flight], Length, int, str]] = [
    # row, source, limit, the limits of the job, a flight that reaches so far, how far, which way is beyond, then
    ("S-05", RISER, "riser at most", USUAL, _one_riser, _inches("7 3/4"), 1, "fault"),
    ("S-05 metric", RISER, "riser at most", METRIC, _one_riser, millimetres(196), 1, "fault"),
    ("S-06", TREAD, "tread at least", USUAL, _treads, inches(10), -1, "fault"),
    ("S-06 metric", TREAD, "tread at least", METRIC, _treads, millimetres(254), -1, "fault"),
    ("S-07 risers", RISER, "riser varies at most", USUAL, _spread, _inches("3/8"), 1, "fault"),
    ("S-07 treads", TREAD, "tread varies at most", USUAL, _tread_spread, _inches("3/8"), 1, "fault"),
    ("S-09 tread", SLOPES, "tread fall at most", USUAL, _tread_fall, Length(Fraction(1, 48)), 1, "fault"),
    ("S-09 landing", SLOPES, "landing fall at most", USUAL, _landing_fall, Length(Fraction(1, 48)), 1, "fault"),
    ("S-14", GUARD, "guard above drop", USUAL, _drop, inches(30), 1, "reminder"),
    ("S-21 risers", CONCRETE, "neighbor risers differ at most", USUAL.with_rules(CONCRETE_RULES), _neighbors,
     _inches("1/8"), 1, "advice"),
    ("S-21 treads", CONCRETE, "tread varies at most", USUAL.with_rules(CONCRETE_RULES), _tread_spread,
     _inches("1/4"), 1, "fault"),
    ("S-22", OLDER_CODE, "neighbor risers differ at most", USUAL, _neighbors, _inches("3/16"), 1, "advice"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "limits", "reaching", "limit", "way", "beyond"),
    [pytest.param(*rest, id=of(row, source)) for row, source, *rest in ROWS],
)
def test_a_limit_hit_exactly_passes_and_a_hair_beyond_does_not(
    rule: str, limits: Limits, reaching: Callable[[Length], Flight], limit: Length, way: int, beyond: str
) -> None:
    at = check_flight(reaching(limit), limits)
    over = check_flight(reaching(Length(limit.metres + HAIR * way)), limits)
    within = check_flight(reaching(Length(limit.metres - HAIR * way)), limits)
    assert _verdicts(at, rule) == _verdicts(within, rule) == {"passes"}
    assert beyond in _verdicts(over, rule)


@pytest.mark.parametrize("sign", [1, -1], ids=[of(f"S-08 {way}", RISER) for way in ("up", "down")])
def test_s_08_a_riser_is_measured_plumb_between_neighboring_nosings(sign: int) -> None:
    """The tread falls 1/4 in toward its nosing, and no riser is the less for it: heights of nosings alone count."""
    nosings = {"N0": "0", "N1": "6", "N2": "12 1/8"}
    heights = {name: Elevation(_inches(height).metres * sign) for name, height in nosings.items()}
    steps = Steps("flight", (Rise("N0", "N1", SIX * sign), Rise("N1", "N2", SIX * sign)), (), inches(12))
    (flight,) = flights_of(steps, heights, treads=[Tread("N1", inches(12), Slope(Fraction(1, 48)))])
    assert [riser.height for riser in check_flight(flight, USUAL).risers] == [SIX, _inches("6 1/8")]


@pytest.mark.parametrize(
    ("risers", "said"),
    [
        pytest.param(3, "passes", id=of("S-13 three risers", HANDRAIL)),
        pytest.param(4, "reminder", id=of("S-13 four risers", HANDRAIL)),
    ],
)
def test_a_flight_of_four_risers_is_reminded_of_its_handrail(risers: int, said: str) -> None:
    assert _verdicts(check_flight(_built(*[SIX] * risers), USUAL), "handrail from risers") == {said}


# Worked values ------------------------------------------------------------------------------------------------

FROM_THE_INPUTS = Source("arithmetic from the stated inputs", DERIVED)


@pytest.mark.parametrize(
    ("advised", "said"),
    [
        pytest.param("3/8", "passes", id=of("R-07, a limit as wide as the spread's", FROM_THE_INPUTS)),
        pytest.param("3/16", "advice", id=of("R-07 under S-22", FROM_THE_INPUTS)),
        pytest.param("1/8", "advice", id=of("R-07 under S-21", FROM_THE_INPUTS)),
    ],
)
def test_r_07_a_flight_may_keep_its_spread_with_uneven_neighbors(advised: str, said: str) -> None:
    limits = USUAL.with_rules({"neighbor risers differ at most": _inches(advised).metres})
    check = check_flight(_built(SIX, _inches("6 1/8"), _inches("5 7/8"), SIX), limits)
    (spread,) = (held for held in check.held if held.limit.name == "riser varies at most")
    assert (in_inches(spread.length), spread.verdict) == (Fraction(1, 4), "passes")
    worst = max(
        (held for held in check.held if held.limit.name == "neighbor risers differ at most"),
        key=lambda held: held.value,
    )
    assert (in_inches(worst.length), worst.verdict) == (Fraction(1, 4), said)
    assert worst.where == ("N1", "N2", "N3")
    assert check.faults == ()
