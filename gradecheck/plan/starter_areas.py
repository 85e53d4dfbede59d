"""Example areas for a new job file, one for each kind: points, surfaces, a flight and a ramp to be changed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal, get_args

from gradecheck.measure.notation import Units

Kind = Literal["patio", "walk", "driveway", "steps", "ramp", "pool deck"]
KINDS: tuple[Kind, ...] = get_args(Kind)
STRIP = 30
"""Paces along the house that each area has to itself in the plan's own places."""


def quoted(text: str) -> str:
    """The text as YAML reads it back, whatever stands in it; it has one line and nothing that can't be seen."""
    if re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*+(?: [A-Za-z0-9_]++)*+", text):
        return text
    return "'" + text.replace("'", "''") + "'"


@dataclass(frozen=True, slots=True)
class Ruler:
    """Writes lengths in the job's own kind of unit: a pace is a foot, or 300 mm in metric work."""

    units: Units
    across: int = 0
    """Paces along the house where an area begins."""

    @property
    def metric(self) -> bool:
        """Whether the job counts in millimetres, centimetres or metres."""
        return self.units in (Units.MM, Units.CM, Units.M)

    def far(self, paces: int) -> str:
        """A run along the ground."""
        match self.units:
            case Units.MM:
                return f"{paces * 300} mm"
            case Units.CM:
                return f"{paces * 30} cm"
            case Units.M:
                whole, tenth = divmod(paces * 3, 10)
                return f"{whole}.{tenth} m" if tenth else f"{whole} m"
            case _:
                return f"{paces} ft"

    def thick(self, inch: str, mm: int) -> str:
        """A layer, a riser or a tread; in feet rounded up to a hundredth, a thousandth where it is less."""
        if self.units is not Units.FT:
            return f"{mm} mm" if self.metric else f"{inch} in"
        size = sum(map(Fraction, inch.split()), Fraction(0)) / 12
        places = 2 if size > Fraction(1, 100) else 3
        return f"{ceil(size * 10**places) / 10**places:.{places}f} ft"

    def place(self, x: int, y: int) -> str:
        """A place of the area, so many paces along the house and away from it."""
        return f"[{self.far(self.across + x)}, {self.far(y)}]"

    def ring(self, left: int, near: int, right: int, away: int) -> str:
        """A rectangle's corners in turn."""
        corners = ((left, near), (right, near), (right, away), (left, away))
        return "[" + ", ".join(self.place(x, y) for x, y in corners) + "]"


def area_lines(
    kind: Kind, name: str, letter: str, ruler: Ruler, zero: str, build_up: str | None, *, accessible: bool = False
) -> list[str]:
    """The lines of an area; its points are called by the letter and a figure and counted from the zero."""
    lines = [f"  {quoted(name)}:", f"    use: {kind}"]
    if build_up:
        lines.append(f"    build-up: {build_up}")
    if accessible:
        lines.append("    accessible: yes  # held to what the code says of such a route; no where it is none  <--")
    return [*lines, *(f"    {line}" for line in _EXAMPLES[kind](letter, ruler, quoted(zero))), ""]


def _patio(letter: str, ruler: Ruler, zero: str) -> list[str]:
    down = ruler.thick("2", 50)
    return [
        "# Its corners in turn, as [x, y]: x along the house, y away from it.",
        f"outline: {ruler.ring(0, 0, 20, 12)}  # <--",
        f"# One plane through {letter}1, falling two ways at once; any place on it has its elevation.",
        f"surface: {{at: {letter}1, fall: {{x: 1%, y: 2%}}}}  # <--",
        "points:",
        "  # From the zero one step down, and a fall over a run; several steps: down: 3.",
        f"  {letter}1: {{from: {zero}, fall: 2%, over: {ruler.far(1)}, down: 1, riser: {down}, "
        f"at: {ruler.place(8, 1)}, what: door}}  # <--",
        f"# The points that are checked: a grid inside the outline, called {letter}1-1, {letter}1-2 and so on.",
        f"grid: {{every: {ruler.far(4)}, name: {letter}}}  # <--",
    ]


def _walk(letter: str, ruler: Ruler, zero: str) -> list[str]:
    def edges(number: int, start: str, over: int, y: int, where: str) -> list[str]:
        left, right = f"{letter}{number}", f"{letter}{number + 1}"
        return [
            f"  {left}: {{from: {start}, fall: 2%, over: {ruler.far(over)}, at: {ruler.place(0, y)}, "
            f"what: left edge{where}}}  # <--",
            f"  {right}: {{from: {left}, fall: 1%, over: {ruler.far(4)}, at: {ruler.place(4, y)}, "
            f"what: right edge{where}}}  # <--",
        ]

    return [
        "# Two edges in the order they are walked: 2% along, 1% across from the left to the right.",
        "points:",
        *edges(1, zero, 2, 2, ""),
        *edges(3, f"{letter}1", 10, 12, " half way"),
        *edges(5, f"{letter}3", 10, 22, " at the end"),
    ]


def _driveway(letter: str, ruler: Ruler, zero: str) -> list[str]:
    def edge(x: int) -> str:
        return f"{{every: {ruler.far(10)}, along: [{ruler.place(x, 1)}, {ruler.place(x, 31)}]}}  # <--"

    return [
        "# Its corners in turn, as [x, y]: x along the house, y away from it.",
        f"outline: {ruler.ring(0, 1, 12, 31)}  # <--",
        f"# One plane through {letter}1, falling away from the house and level across.",
        f"surface: {{at: {letter}1, fall: {{y: 2%}}}}  # <--",
        "points:",
        f"  {letter}1: {{from: {zero}, fall: 2%, over: {ruler.far(1)}, at: {ruler.place(6, 1)}, "
        "what: middle of the garage door}  # <--",
        f"# Points along both edges, called {letter}L1, {letter}L2 and {letter}R1, {letter}R2 and so on.",
        "edges:",
        f"  {letter}L: {edge(0)}",
        f"  {letter}R: {edge(12)}",
    ]


def _steps(letter: str, ruler: Ruler, zero: str) -> list[str]:
    fall = "1/8 in/ft" if ruler.units in (Units.IN, Units.FT_IN) else "1%"
    return [
        "points:",
        f"  {letter}0: {{from: {zero}, fall: 2%, over: {ruler.far(4)}, at: {ruler.place(4, 4)}, "
        "what: edge of the landing above}  # <--",
        f"# Each nosing is a point, called {letter}1, {letter}2 and so on. A whole rise to divide: total: in",
        "# place of riser:. Up instead of down: up: 3. A handrail may be required.",
        "flight:",
        f"  from: {letter}0",
        "  down: 3  # <--",
        f"  riser: {ruler.thick('6', 150)}  # <--",
        f"  tread: {ruler.thick('14', 350)}  # <--",
        f"  tread fall: {fall}",
        f"  toward: {ruler.place(4, 14)}  # where they head  <--",
        f"  name: {letter}",
    ]


def _ramp(letter: str, ruler: Ruler, zero: str) -> list[str]:
    return [
        "points:",
        f"  {letter}0: {{from: {zero}, fall: 2%, over: {ruler.far(5)}, at: {ruler.place(4, 5)}, "
        "what: edge of the landing above}  # <--",
        f"# The end of each run is a point, and that of the landing behind it: {letter}1, {letter}1L and so on.",
        "ramp:",
        f"  from: {letter}0",
        "  fall: 1:14  # rise: where it goes up  <--",
        f"  runs: [{ruler.far(12)}, {ruler.far(12)}]  # <--",
        f"  landing: {ruler.far(6)}  # <--",
        "  landing fall: 1:60",
        f"  toward: {ruler.place(4, 45)}  # where it heads  <--",
        f"  name: {letter}",
    ]


def _pool_deck(letter: str, ruler: Ruler, zero: str) -> list[str]:
    return [
        "# Its corners in turn, as [x, y]: here y runs from the pool's edge outward, and so does the water.",
        f"outline: {ruler.ring(0, 12, 16, 20)}  # <--",
        f"# One plane through {letter}1, falling away from the pool.",
        f"surface: {{at: {letter}1, fall: {{y: 2.5%}}}}  # <--",
        "points:",
        f"  {letter}1: {{from: {zero}, fall: 2%, over: {ruler.far(13)}, at: {ruler.place(8, 13)}, "
        "what: by the coping}  # <--",
        f"# The points that are checked: a grid inside the outline, called {letter}1-1, {letter}1-2 and so on.",
        f"grid: {{every: {ruler.far(4)}, name: {letter}}}  # <--",
    ]


_EXAMPLES: dict[Kind, Callable[[str, Ruler, str], list[str]]] = {
    "patio": _patio,
    "walk": _walk,
    "driveway": _driveway,
    "steps": _steps,
    "ramp": _ramp,
    "pool deck": _pool_deck,
}
