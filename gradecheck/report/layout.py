"""Layout checks in words: what to tape and what the tapes say, 3-4-5, chalk lines, a line round an obstruction."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.checks.layout import (
    ChalkLine,
    Pattern,
    Tape,
    allowed_off,
    chalk_lines,
    drift,
    offset_round,
    shift,
    three_four_five,
    to_tape,
)
from gradecheck.measure.judged import at_a_mark, judged_reading
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact, show
from gradecheck.measure.quantities import ZERO, Length, feet, millimetres
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Bond, Layout
from gradecheck.state.state import State

LONG, SHORT, RIGHT = _("LONG"), _("SHORT"), _("ON LENGTH")
_WORDS = {Word.CUT: LONG, Word.FILL: SHORT, Word.ON_GRADE: RIGHT}


@dataclass(frozen=True, slots=True)
class TapeRow:
    """One tape to pull: `off` is signed, plus is long; `word` says the same; both are empty before it was taped."""

    start: str
    end: str
    kind: str
    wanted: str
    taped: str
    off: str
    word: str


def tape_rows(state: State, layout: Layout) -> list[TapeRow]:
    """Every side and diagonal of a layout check, with what was taped."""
    taped = state.record.taped(layout.name)
    rows = []
    for target in to_tape(layout.corners):
        kept = taped.get(target.pair)
        rows.append(_row(state, layout, target, kept.fact.length if kept else None))
    return rows


def _row(state: State, layout: Layout, target: Tape, taped: Length | None) -> TapeRow:
    notation = state.plan.notation
    wanted = shown_with_unit(target.length, notation)
    if taped is None:
        return TapeRow(target.start, target.end, target.kind, wanted, "", "", "")
    off, allowed = taped - target.length, allowed_off(target, layout.tolerance, state.plan.limits())
    word = Word.CUT if off > allowed else Word.FILL if off < -allowed else Word.ON_GRADE
    said = _off(at_a_mark(off, allowed, notation), notation)
    return TapeRow(target.start, target.end, target.kind, wanted, tape_text(taped, notation), said, _WORDS[word])


def _off(off: Length, notation: Notation) -> str:
    """How far off a tape is, signed; of a foot or more as the tape counts it."""
    if abs(off) < feet(1):
        return show(off, notation, plus=True)
    return f"{'-' if off < ZERO else '+'}{tape_text(abs(off), notation)}"


def tape_line(row: TapeRow) -> str:
    """One tape as a line of text."""
    taped = (
        _("  taped {taped}  {off}  {word}", taped=row.taped, off=row.off, word=row.word)
        if row.taped
        else _("  to tape")
    )
    return _(
        "{kind:<9} {start} to {end:<4} {wanted:>14}{taped}",
        kind=row.kind,
        start=row.start,
        end=row.end,
        wanted=row.wanted,
        taped=taped,
    )


def square_line(first: Length, second: Length, notation: Notation) -> str:
    """3-4-5 for the space at hand, or that there is none."""
    found = three_four_five(first, second, metric=not notation.units.imperial)
    if found is None:
        return _("3-4-5: there is no room for one")
    marks = ", ".join(tape_text(mark, notation, unit=True) for mark in found.marks)
    legs = (tape_text(length, notation, unit=True) for length in (found.first, found.second, found.across))
    one, other, across = legs
    return _(
        "3-4-5: {one} along the first side, {other} along the second, {across} across; with one tape laid "
        "round, hold {marks}",
        one=one,
        other=other,
        across=across,
        marks=marks,
    )


def drift_line(bond: Bond, notation: Notation, module: Length, limits: Limits) -> str:
    """How far the last row lies from the plan's when all are laid as measured, against what it may wander."""
    found = drift(bond.unit + bond.joint, bond.rows, module * bond.rows, limits)
    texts = judged_reading(found.off, found.allowed, notation, plus=True)
    verdict = "within" if found.verdict == "passes" else _("TOO MUCH: take it out of the joints")
    says = _("laid like this row {rows} lies {found} off the plan", rows=bond.rows, found=texts.found)
    return _(
        "  {says}, allowed {limit} ({source}): {verdict}",
        says=says,
        limit=texts.limit,
        source=found.limit.source,
        verdict=verdict,
    )


def chalk_table(
    bond: Bond, notation: Notation, module: Length | None = None, limits: Limits | None = None
) -> list[str]:
    """Where to chalk the rows, from the first edge; from the measured module where one is given.

    With the `limits` too, how far each chalk line then lies off the plan's, and where it is more than is allowed.
    """
    across, along = module or bond.unit + bond.joint, bond.length + bond.joint
    pattern: Pattern = bond.pattern
    start = _(" from {start}", start=bond.start) if bond.start else ""
    lines = [
        _(
            "{name}: {rows} rows{start}, {pattern} bond, a row is {across}",
            name=bond.name,
            rows=bond.rows,
            start=start,
            pattern=pattern,
            across=tape_text(across, notation, unit=True),
        )
    ]
    for each in chalk_lines(across, along, pattern, bond.rows, bond.every):
        off = f"  {_off_the_plan(bond, each, notation, limits)}" if limits is not None else ""
        lines.append(
            _("  row {rows:>3}  {at:>12}{off}", rows=each.rows, at=shown_with_unit(each.at, notation), off=off)
        )
    shifts = sorted({shift(along, pattern, row) for row in range(3)})
    lines.append(
        _(
            "  rows are shifted by {shifts} in turn",
            shifts=", ".join(shown_with_unit(each, notation) for each in shifts),
        )
    )
    return lines


def _off_the_plan(bond: Bond, line: ChalkLine, notation: Notation, limits: Limits) -> str:
    found = drift(bond.unit + bond.joint, line.rows, line.at, limits)
    texts = judged_reading(found.off, found.allowed, notation, plus=True)
    return (
        f"{texts.found}"
        if found.verdict == "passes"
        else _("{found}, allowed {limit}: TOO MUCH", found=texts.found, limit=texts.limit)
    )


def offset_line(along: Length, depth: Length, room: Length, notation: Notation) -> str:
    """A line carried round something that stands in the corner, or that there is no room for it."""
    found = offset_round(along, depth, room, feet(1) if notation.units.imperial else millimetres(100))
    if found is None:
        return _("There is no room to carry the line round it; mark it farther from the corner.")
    near, far, out = (tape_text(length, notation, unit=True) for length in (found.near, found.far, found.out))
    diagonal = shown_with_unit(found.diagonal, notation)
    return _(
        "Mark the line at {near} and {far} from the corner, square off {out} at both, and go on through those "
        "two; both diagonals must show {diagonal}.",
        near=near,
        far=far,
        out=out,
        diagonal=diagonal,
    )


def shown_with_unit(length: Length, notation: Notation) -> str:
    """A length at the nearest mark with its unit; a tilde says that it was rounded."""
    return ("" if is_exact(length, notation) else "~") + tape_text(length, notation, unit=True)


def tape_text(length: Length, notation: Notation, *, unit: bool = False) -> str:
    """A length as a tape shows it, which counts feet on a job in inches too: ``24'``, ``24' 3 1/2"``."""
    units = Units.FT_IN if notation.units is Units.IN else notation.units
    text = show(length, Notation(units, notation.graduation), unit=unit)
    return text.removesuffix(' 0"') if text.endswith("' 0\"") else text
