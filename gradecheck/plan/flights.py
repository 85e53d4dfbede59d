"""Flights of steps and ramps: every nosing and landing as a point, counted from where they start."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope
from gradecheck.plan.model import Landing, Point, Rise, Steps
from gradecheck.plan.risers import equal_risers
from gradecheck.plan.shapes import FlightEntry, RampEntry
from gradecheck.plan.targets import in_words


@dataclass(frozen=True, slots=True)
class Move:
    """From one point of a flight or ramp to the next: how far along, how much higher, and what is there."""

    name: str
    along: Length
    up: Length
    what: str
    sum: str


def flight_moves(entry: FlightEntry, units: Units, graduation: Length) -> list[Move]:
    """Every nosing and landing of a flight, in the order they are walked from its start."""
    heights = _heights(entry, graduation)
    tread, sign, word = entry.tread or ZERO, (-1 if entry.down else 1), ("−" if entry.down else "+")
    moves = []
    # Going down the first nosing lies a tread behind the start, which is a nosing itself; going up right above it.
    for number, height in enumerate(heights, 1):
        last, landing = number == len(heights), entry.landings.get(number)
        after_landing = number > 1 and number - 1 in entry.landings
        if entry.down:
            along = ZERO if last or landing else tread
            what = "foot" if last else "landing, back" if landing else f"nosing {number}"
        else:
            along = ZERO if number == 1 or after_landing else tread
            what = "top nosing" if last else f"nosing {number}"
        moves.append(Move(f"{entry.name}{number}", along, height * sign, what, f"{word} {shown(height, units)}"))
        if landing is not None:
            fall = (landing.fall or NO_SLOPE).over(landing.length)
            what = "landing, edge" if entry.down else "landing, back"
            said = f"{word} landing {shown(fall, units)}"
            moves.append(Move(f"{entry.name}{number}L", landing.length, fall * sign, what, said))
    return moves


def ramp_moves(entry: RampEntry, units: Units) -> list[Move]:
    """The end of every run and of the landing behind it."""
    slope, sign, word = (entry.fall, -1, "−") if entry.fall is not None else (entry.rise, 1, "+")
    assert slope is not None
    moves = []
    for number, run in enumerate(entry.runs, 1):
        change = slope.over(run)
        end = "foot" if sign < 0 else "head"
        said = f"{word} {shown(change, units)}"
        moves.append(Move(f"{entry.name}{number}", run, change * sign, f"{end} of run {number}", said))
        if entry.landing is not None:
            fall = (entry.landing_fall or NO_SLOPE).over(entry.landing)
            said = f"{word} landing {shown(fall, units)}"
            moves.append(Move(f"{entry.name}{number}L", entry.landing, fall * sign, f"end of landing {number}", said))
    return moves


def points_along(
    moves: Sequence[Move], start: str, z: Elevation, at: Place | None, toward: Place | None, units: Units, line: int
) -> Iterator[Point]:
    """The points that the moves lead to from the start, with a place where the start has one and a direction."""
    name = start
    way = distance(at, toward) if at and toward else ZERO
    so_far = ZERO
    for move in moves:
        working = f"{name} {in_words(show_exact(z.height, units))} {move.sum} = "
        z, so_far, name = z + move.up, so_far + move.along, move.name
        place = None
        if at and toward and way:
            share = so_far.metres / way.metres
            place = at[0] + (toward[0] - at[0]) * share, at[1] + (toward[1] - at[1]) * share
        yield Point(move.name, z, working + shown(z.height, units), move.what, place, line=line)


def flight_steps(entry: FlightEntry, moves: Sequence[Move], line: int) -> Steps:
    """The flight as it was asked for, to be held to its rules."""
    rises, landings = [], []
    names = [entry.from_, *(move.name for move in moves)]
    for (start, end), move in zip(pairwise(names), moves, strict=True):
        if end.endswith("L") and move.along:
            landings.append(_landing(entry.landings[int(start.removeprefix(entry.name))].fall, start, end, move))
        else:
            rises.append(Rise(start, end, move.up))
    return Steps("flight", tuple(rises), tuple(landings), entry.tread, entry.tread_fall or NO_SLOPE, line)


def ramp_steps(entry: RampEntry, moves: Sequence[Move], line: int) -> Steps:
    """The ramp as it was asked for, to be held to its rules."""
    rises, landings = [], []
    names = [entry.from_, *(move.name for move in moves)]
    for (start, end), move in zip(pairwise(names), moves, strict=True):
        if move.what.startswith("end of landing"):
            landings.append(_landing(entry.landing_fall, start, end, move))
        else:
            rises.append(Rise(start, end, move.up, move.along))
    return Steps("ramp", tuple(rises), tuple(landings), line=line)


def _landing(fall: Slope | None, start: str, end: str, move: Move) -> Landing:
    return Landing(start, end, move.along, fall or NO_SLOPE)


def _heights(entry: FlightEntry, graduation: Length) -> tuple[Length, ...]:
    if entry.riser is not None:
        return (entry.riser,) * entry.count
    assert entry.total is not None
    heights = equal_risers(entry.total, entry.count, entry.round_to or graduation)
    return heights if entry.down else heights[::-1]  # they are counted from the head of the flight down


def shown(length: Length, units: Units) -> str:
    return in_words(show_exact(length, units, unit=True))
