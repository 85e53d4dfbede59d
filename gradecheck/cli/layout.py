"""The verb for what is taped: `layout`."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.entered import length_in
from gradecheck.catalogue import _
from gradecheck.checks.layout import Tape, chalk_lines, drift, measured_module, rectangle, to_tape
from gradecheck.checks.squaring import CornerMove
from gradecheck.cli.options import Recording, Reply, csv_option, named, on_session, option
from gradecheck.cli.shared import assignment, has_braille, length_json, length_text
from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Bond, Layout
from gradecheck.plan.problems import suggestion
from gradecheck.report.checks import layout_results, result_line
from gradecheck.report.corner_sketch import corner_sketch, moves_line
from gradecheck.report.layout import (
    TapeRow,
    chalk_table,
    drift_line,
    offset_line,
    shown_with_unit,
    square_line,
    tape_line,
    tape_rows,
)
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_layout, corners_to_move
from gradecheck.state.state import State

_SKETCH = 60, 15
"""Columns and rows of a sketch among lines of text."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TapesOptions(Recording):
    name: str | None = named("[NAME]", None, help=_("a layout check or a bond of the plan"))
    tapes: Sequence[str] = named("[A-B=LENGTH]", (), nargs="+", help=_("what the tape shows between two corners"))
    sides: str | None = option("--sides", metavar="W,L", help=_("a rectangle that is not in the plan"))
    round: str | None = option(
        "--round", metavar="ALONG,OUT,ROOM", help=_("carry a line around something in the corner")
    )
    module: str | None = option("--module", metavar="LENGTH/UNITS", help=_("what a number of units measures as laid"))
    csv: bool = csv_option()


@on_session(TapesOptions, by_code=True, apart=(("csv", "json"),))
def layout(session: Session, options: TapesOptions) -> Reply:
    """What to tape and what the tapes say, or chalk lines, or a typed rectangle; 1 when something is out."""
    if options.sides or options.round:
        _nothing_beside(
            options.name or options.tapes or options.module, _("--sides and --round stand"), _("a name or tapes")
        )
        return _typed(session, options)
    name = options.name
    if name in session.plan.bonds and (options.module or name not in session.plan.layout):
        _nothing_beside(options.tapes, _("The bond “{name}” goes", name=name), _("tapes"))
        return _bond(session, session.plan.bonds[name], options.module)
    _nothing_beside(options.module, _("A layout check goes"), _("--module, which is for a bond"))
    chosen = _chosen(session, name)
    if options.tapes:
        _record(session, chosen, options.tapes)
    return _answer(session, chosen)


def _nothing_beside(given: object, what: str, takes: str) -> None:
    """Refuses what would be passed over without a word: somebody measured it."""
    if given:
        raise Refusal(_("{what} without {takes}; nothing was recorded.", what=what, takes=takes))


def _lengths(session: Session, text: str, count: int, like: str) -> list[Length]:
    parts = text.split(",")
    if len(parts) != count:
        raise Refusal(_("“{text}” is not understood; write it like {like}.", text=text, like=like))
    lengths = [length_in(part.strip(), session.plan.notation.units) for part in parts]
    if min(lengths) <= ZERO:
        raise Refusal(_("A length on the ground must be more than zero."))
    return lengths


def _typed(session: Session, options: TapesOptions) -> Reply:
    """A rectangle, or an obstruction, that the plan does not name."""
    notation = session.plan.notation
    lines: list[str] = []
    tapes: list[dict[str, object]] = []
    if options.sides:
        width, length = _lengths(session, options.sides, 2, "12 ft,20 ft")
        for target in to_tape(rectangle(width, length)):
            tapes.append(_tape(target, notation))
            lines.append(
                _(
                    "{kind:<9} {start} to {end:<4} {shown:>14}",
                    kind=target.kind,
                    start=target.start,
                    end=target.end,
                    shown=shown_with_unit(target.length, notation),
                )
            )
        lines.append(square_line(width, length, notation))
    if options.round:
        along, depth, room = _lengths(session, options.round, 3, _("3 ft,2 ft,20 ft (along, out, room)"))
        lines.append(offset_line(along, depth, room, notation))
    return Reply({"rows": lines, "tapes": tapes}, lines, table=tapes)


def _tape(target: Tape, notation: Notation) -> dict[str, object]:
    """A tape to pull for other programs."""
    wanted = _exact(target.length, shown_with_unit(target.length, notation), notation)
    return {"kind": target.kind, "start": target.start, "end": target.end, "wanted": wanted}


def _exact(length: Length, text: str, notation: Notation) -> dict[str, object]:
    """A length for other programs, its text with the unit: ``3/8`` alone is a date to a spreadsheet."""
    says_one = any(each.isalpha() or each in "'\"" for each in text)
    return length_text(length, text if says_one else f"{text} {notation.units.value}")


def _tapes_json(state: State, layout: Layout, rows: Sequence[TapeRow]) -> list[dict[str, object]]:
    """The tapes of a layout check, each with its exact lengths: what is wanted, what it showed, how far off."""
    notation, taped = state.plan.notation, state.record.taped(layout.name)
    found: list[dict[str, object]] = []
    for row, target in zip(rows, to_tape(layout.corners), strict=True):
        lengths = {"wanted": _exact(target.length, row.wanted, notation)}
        if (kept := taped.get(target.pair)) is not None:
            lengths["taped"] = _exact(kept.fact.length, row.taped, notation)
            lengths["off"] = _exact(kept.fact.length - target.length, row.off, notation)
        found.append({**dataclasses.asdict(row), "lengths": lengths})
    return found


def _bond(session: Session, bond: Bond, measured: str | None) -> Reply:
    """The chalk lines of a bond, from the measured module where one is given."""
    notation, module = session.plan.notation, None
    if measured:
        length, slash, units = measured.rpartition("/")
        like = f"{notation.units.examples.module}/10"
        if not slash or not units.strip().isdigit() or not int(units):
            raise Refusal(
                _(
                    "“{measured}” is not understood; write what so many units measure, like {like}.",
                    measured=measured,
                    like=like,
                )
            )
        module = measured_module(length_in(length, notation.units), int(units))
    chalk = _chalk(bond, module, notation)
    if module is None:
        lines = chalk_table(bond, notation)
        return Reply({"rows": lines, "chalk": chalk}, lines, table=chalk)
    limits = session.plan.limits()
    lines = [*chalk_table(bond, notation, module, limits), drift_line(bond, notation, module, limits)]
    off = drift(bond.unit + bond.joint, bond.rows, module * bond.rows, limits)
    code = 0 if off.verdict == "passes" else 1
    return Reply({"rows": lines, "chalk": chalk}, lines, code=code, table=chalk)


def _chalk(bond: Bond, module: Length | None, notation: Notation) -> list[dict[str, object]]:
    """Where each chalk line lies from the first edge, exactly."""
    across, along = module or bond.unit + bond.joint, bond.length + bond.joint
    lines = chalk_lines(across, along, bond.pattern, bond.rows, bond.every)
    return [{"row": each.rows, "at": _exact(each.at, shown_with_unit(each.at, notation), notation)} for each in lines]


def _chosen(session: Session, name: str | None) -> list[Layout]:
    known = session.plan.layout
    if name is None:
        return list(known.values())
    if name not in known:
        raise Refusal(
            _(
                "The plan has no layout check or bond “{name}”.{meant}",
                name=name,
                meant=suggestion(name, [*known, *session.plan.bonds]),
            )
        )
    return [known[name]]


def _record(session: Session, chosen: list[Layout], tapes: Sequence[str]) -> None:
    if len(chosen) != 1:
        raise Refusal(_("Name the layout check that the tapes belong to."))
    taped = []
    for tape in tapes:
        ends, typed = assignment(tape, session.plan.notation.units)
        start, dash, end = ends.partition("-")
        if not dash:
            raise Refusal(_("“{ends}” names no two corners; write A-B=24'.", ends=ends))
        taped.append(actions.tape(session.state, chosen[0].name, start, end, typed))
    session.record(*taped)


def _move(move: CornerMove, notation: Notation) -> dict[str, object]:
    along = [
        {
            "way": "toward" if by.metres > 0 else "away from",
            "of": end,
            "by": length_json(abs(by), notation),
        }
        for end, by in move.along
    ]
    return {"corner": move.corner, "along": along}


def _answer(session: Session, chosen: list[Layout]) -> Reply:
    state, notation = session.state, session.plan.notation
    found = [
        (each, tape_rows(state, each), check_layout(state, each), corners_to_move(state, each)) for each in chosen
    ]
    answer: list[dict[str, Any]] = [
        {
            "layout": each.name,
            "tapes": _tapes_json(state, each, rows),
            "says": [check.says for check in layout_results(each.name, square, notation)],
            "verdict": square.verdict,
            "moves": None if moves is None else [_move(move, notation) for move in moves],
            "do": moves_line(moves, notation),
        }
        for each, rows, square, moves in found
    ]
    lines = []
    for each, rows, square, moves in found:
        lines += [each.name, *(f"  {tape_line(row)}" for row in rows)]
        if any(row.taped for row in rows):
            lines += [f"  {result_line(check)}" for check in layout_results(each.name, square, notation)]
            lines += [f"  {said}"] if (said := moves_line(moves, notation)) else []
            drawing = corner_sketch(state, each, moves, *_SKETCH, braille=has_braille())
            lines += ["", *(f"  {row}".rstrip() for row in drawing.lines), ""]
    for bond in session.plan.bonds.values():
        lines += chalk_table(bond, notation) if len(chosen) != 1 else []
    taped = [square for _, rows, square, _ in found if any(row.taped for row in rows)]
    table = [
        {
            "layout": each["layout"],
            **{key: tape[key] for key in ("kind", "start", "end")},
            **tape["lengths"],
            "word": tape["word"],
        }
        for each in answer
        for tape in each["tapes"]
    ]
    return Reply(
        answer,
        lines or [_("The plan names no layout check; --sides 12 ft,20 ft shows one.")],
        code=1 if any(square.verdict == "fault" for square in taped) else 0,
        table=table,
    )
