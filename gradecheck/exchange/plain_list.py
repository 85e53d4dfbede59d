"""Listed points kept by columns as they are written, for tens of thousands of which a few are looked at."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import overload

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.point_list import Listed

_STEPS = 10**6
"""Of a unit, as a list writes them: six decimals."""


class PlainList(Sequence[Listed]):
    """Points with names, notes and places (columns of x and y, maybe z, as decimals); each is made when asked for.

    A number times `times` counts `units`, and is rounded at the last decimal that a list has, halves away from zero.
    """

    def __init__(
        self,
        names: Sequence[str],
        notes: Sequence[str],
        places: Sequence[Sequence[str]],
        times: Fraction,
        units: Units,
    ) -> None:
        self.names, self.notes, self.places = names, notes, places
        self._times, self._step = times * _STEPS, units.one.metres / _STEPS

    def __len__(self) -> int:
        return len(self.names)

    @overload
    def __getitem__(self, at: int) -> Listed: ...
    @overload
    def __getitem__(self, at: slice) -> list[Listed]: ...
    def __getitem__(self, at: int | slice) -> Listed | list[Listed]:
        if isinstance(at, slice):
            return [self[each] for each in range(len(self))[at]]
        x, y, *z = (self._size(column[at]) for column in self.places)
        elevation = Elevation(z[0].metres) if z else None
        return Listed(self.names[at], (x, y), elevation, self.notes[at], range(len(self))[at] + 1)

    def _size(self, text: str) -> Length:
        above, below = (Fraction(text) * self._times).as_integer_ratio()
        steps = (2 * abs(above) + below) // (2 * below)
        return Length(self._step * (-steps if above < 0 else steps))
