"""A page of level notes, as kept in a field book with a standard rod: its elevations, and the check of its sums.

The page check proves the arithmetic alone. Whether the levels close is another matter: `legs` make a circuit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.survey.circuit import Corrected, Leg, carried


@dataclass(frozen=True, slots=True)
class NoteRow:
    """One line of the book. A turning point has a foresight, from the old setup, and a backsight, from the new.

    A rod held upside down against a soffit is a negative reading.
    """

    point: str
    backsight: Length | None = None
    intermediate: Length | None = None
    foresight: Length | None = None


@dataclass(frozen=True, slots=True)
class Reduced:
    """A line of the book with its elevation; `plane` is the height of instrument that its backsight gives.

    `setup` counts from one and is the setup it was shot from; the mark that the page begins on has 0.
    """

    point: str
    setup: int
    elevation: Elevation
    plane: Elevation | None = None


@dataclass(frozen=True, slots=True)
class PageCheck:
    """Backsights less foresights against last elevation less first. It proves the sums, not the field work."""

    backsights: Length
    foresights: Length
    carried: Length

    @property
    def passes(self) -> bool:
        """Whether the sums agree, exactly."""
        return self.backsights - self.foresights == self.carried


@dataclass(frozen=True, slots=True)
class Notes:
    """A page worked out: every line's elevation, the check of its sums, and what each setup carried."""

    rows: tuple[Reduced, ...]
    check: PageCheck
    legs: tuple[Leg, ...]

    def corrected(self, shares: Sequence[Length]) -> tuple[Corrected, ...]:
        """Every line behind the first with its correction; `shares` has that of each setup.

        An intermediate sight gets the correction of the setup it was shot from, like the turning point it reached.
        """
        of_setup = [mark.correction for mark in carried(self.rows[0].elevation, self.legs, shares)]
        return tuple(Corrected(row.point, row.elevation, of_setup[row.setup - 1]) for row in self.rows[1:])


def page_check(rows: Sequence[NoteRow], first: Elevation, last: Elevation) -> PageCheck:
    """The check of a page's sums against the first and last elevation written on it."""
    return PageCheck(
        sum((row.backsight for row in rows if row.backsight is not None), ZERO),
        sum((row.foresight for row in rows if row.foresight is not None), ZERO),
        last.above(first),
    )


def reduce_notes(start: Elevation, rows: Sequence[NoteRow]) -> Notes:
    """The page worked out from the elevation of the mark it begins on.

    Raises ValueError, in one sentence, where a line does not follow from those above it.
    """
    _refuse_broken(rows)
    plane = start + (rows[0].backsight or ZERO)
    reduced = [Reduced(rows[0].point, 0, start, plane)]
    turn, legs = reduced[0], list[Leg]()
    for row in rows[1:]:
        setup = len(legs) + 1
        if row.foresight is None:
            reduced.append(Reduced(row.point, setup, plane.minus(row.intermediate or ZERO)))
            continue
        here = plane.minus(row.foresight)
        legs.append(Leg(turn.point, row.point, here.above(turn.elevation)))
        plane = here + (row.backsight or ZERO)
        turn = Reduced(row.point, setup, here, None if row.backsight is None else plane)
        reduced.append(turn)
    return Notes(tuple(reduced), page_check(rows, start, turn.elevation), tuple(legs))


def _refuse_broken(rows: Sequence[NoteRow]) -> None:
    if not rows or rows[0].backsight is None or rows[0].foresight is not None or rows[0].intermediate is not None:
        raise ValueError("A page begins with a backsight, and nothing else, on a mark of known elevation.")
    if rows[-1].foresight is None or rows[-1].backsight is not None:
        raise ValueError(f"The page ends on {rows[-1].point}; end it with a foresight alone, which closes it.")
    for row in rows[1:]:
        if row.intermediate is not None and (row.foresight is not None or row.backsight is not None):
            raise ValueError(f"{row.point} has an intermediate sight beside another; give it a line of its own.")
        if row.intermediate is None and row.foresight is None:
            raise ValueError(
                f"{row.point} has no foresight and no intermediate sight, so its elevation is not known."
            )
    for row in rows[1:-1]:
        if row.foresight is not None and row.backsight is None:
            raise ValueError(
                f"{row.point} has a foresight and no backsight, so nothing carries on from it; "
                "write it as an intermediate sight or add the backsight."
            )
