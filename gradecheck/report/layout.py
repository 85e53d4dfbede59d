"""Layout checks in words: what to tape and what the tapes say, 3-4-5, chalk lines, a line round an obstruction."""

from __future__ import annotations

from dataclasses import dataclass

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
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import is_exact, show
from gradecheck.measure.quantities import Length, feet, millimetres
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.limits import Limits
from gradecheck.plan.model import Bond, Layout
from gradecheck.state.state import State

LONG, SHORT, RIGHT = "LONG", "SHORT", "ON LENGTH"
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
    wanted = shown(target.length, notation)
    if taped is None:
        return TapeRow(target.start, target.end, target.kind, wanted, "", "", "")
    off, allowed = taped - target.length, allowed_off(target, layout.tolerance, state.plan.limits())
    word = Word.CUT if off > allowed else Word.FILL if off < -allowed else Word.ON_GRADE
    said = show(at_a_mark(off, allowed, notation), notation, plus=True)
    return TapeRow(target.start, target.end, target.kind, wanted, show(taped, notation), said, _WORDS[word])


def tape_line(row: TapeRow) -> str:
    """One tape as a line of text."""
    taped = f"  taped {row.taped}  {row.off}  {row.word}" if row.taped else "  to tape"
    return f"{row.kind:<9} {row.start} to {row.end:<4} {row.wanted:>14}{taped}"


def square_line(first: Length, second: Length, notation: Notation) -> str:
    """3-4-5 for the space at hand, or that there is none."""
    found = three_four_five(first, second, metric=not notation.units.imperial)
    if found is None:
        return "3-4-5: there is no room for one"
    marks = ", ".join(show(mark, notation, unit=True) for mark in found.marks)
    legs = (show(length, notation, unit=True) for length in (found.first, found.second, found.across))
    one, other, across = legs
    return (
        f"3-4-5: {one} along the first side, {other} along the second, {across} across; "
        f"with one tape laid round, hold {marks}"
    )


def drift_line(bond: Bond, notation: Notation, module: Length, limits: Limits) -> str:
    """How far the last row lies from the plan's when all are laid as measured, against what it may wander."""
    found = drift(bond.unit + bond.joint, bond.rows, module * bond.rows, limits)
    texts = judged_reading(found.off, found.allowed, notation, plus=True)
    verdict = "within" if found.verdict == "passes" else "TOO MUCH: take it out of the joints"
    says = f"laid like this row {bond.rows} lies {texts.found} off the plan"
    return f"  {says}, allowed {texts.limit} ({found.limit.source}): {verdict}"


def chalk_table(
    bond: Bond, notation: Notation, module: Length | None = None, limits: Limits | None = None
) -> list[str]:
    """Where to chalk the rows, from the first edge; from the measured module where one is given.

    With the `limits` too, how far each chalk line then lies off the plan's, and where it is more than is allowed.
    """
    across, along = module or bond.unit + bond.joint, bond.length + bond.joint
    pattern: Pattern = bond.pattern
    start = f" from {bond.start}" if bond.start else ""
    lines = [f"{bond.name}: {bond.rows} rows{start}, {pattern} bond, a row is {show(across, notation, unit=True)}"]
    for each in chalk_lines(across, along, pattern, bond.rows, bond.every):
        off = f"  {_off_the_plan(bond, each, notation, limits)}" if limits is not None else ""
        lines.append(f"  row {each.rows:>3}  {shown(each.at, notation):>12}{off}")
    shifts = sorted({shift(along, pattern, row) for row in range(3)})
    lines.append(f"  rows are shifted by {', '.join(shown(each, notation) for each in shifts)} in turn")
    return lines


def _off_the_plan(bond: Bond, line: ChalkLine, notation: Notation, limits: Limits) -> str:
    found = drift(bond.unit + bond.joint, line.rows, line.at, limits)
    texts = judged_reading(found.off, found.allowed, notation, plus=True)
    return f"{texts.found}" if found.verdict == "passes" else f"{texts.found}, allowed {texts.limit}: TOO MUCH"


def offset_line(along: Length, depth: Length, room: Length, notation: Notation) -> str:
    """A line carried round something that stands in the corner, or that there is no room for it."""
    found = offset_round(along, depth, room, feet(1) if notation.units.imperial else millimetres(100))
    if found is None:
        return "There is no room to carry the line round it; mark it farther from the corner."
    near, far, out = (show(length, notation, unit=True) for length in (found.near, found.far, found.out))
    diagonal = shown(found.diagonal, notation)
    return (
        f"Mark the line at {near} and {far} from the corner, square off {out} at both, and go on through those two; "
        f"both diagonals must show {diagonal}."
    )


def shown(length: Length, notation: Notation) -> str:
    """A length at the nearest mark with its unit; a tilde says that it was rounded."""
    return ("" if is_exact(length, notation) else "~") + show(length, notation, unit=True)
