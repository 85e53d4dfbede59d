"""What is noted of layers as they are built: hold points gone past, compaction, undercut that was ordered."""

from __future__ import annotations

from collections.abc import Collection

from gradecheck.actions.entered import Action, Refusal, area_named, length_in, one_line, stage_named
from gradecheck.catalogue import _, plural, stored
from gradecheck.journal.facts import Compacted, Note, Undercut
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.model import SUBGRADE, Area
from gradecheck.plan.names import as_known
from gradecheck.plan.problems import suggestion
from gradecheck.state.state import State, Surface

MOST_PASSES = 99


class HeldError(Refusal):
    """A hold point below is not signed off; nothing above it is read until it is, or is gone past with a reason."""

    def __init__(self, area: str, hold: str, stage: str) -> None:
        says = _(
            "{area}: {hold} is a hold point and not signed off; {stage} takes no readings until it is.",
            area=area,
            hold=hold,
            stage=stage,
        )
        super().__init__(says)
        self.area, self.hold, self.stage = area, hold, stage


def refuse_held(state: State, surface: Surface, past: Collection[str] = ()) -> None:
    """Raises `HeldError` where a hold point below that surface is in the way."""
    area = state.plan.areas.get(surface.area)
    if area is not None and (hold := state.record.hold_before(area, surface.stage, past)) is not None:
        raise HeldError(area.name, hold, surface.stage)


def go_past(state: State, area: str, hold: str, why: str) -> Action:
    """A hold point that nobody signed off is gone past, for that reason. Raises Refusal."""
    home = area_named(state.plan, area)
    hold = stage_named(home, hold)
    if hold not in home.holds or not state.record.is_open(home.name, hold):
        raise Refusal(_("{hold} is no open hold point of {area}.", hold=hold, area=home.name))
    asked = _("Say in a few words why you go past it; the reason stays in the log.")
    reason = one_line(why, asked)
    if not any(character.isalpha() for character in reason):  # a reading typed on, before anyone saw the question
        raise Refusal(asked)
    text = stored("hold point {hold} gone past, not signed: {reason}", hold=hold, reason=reason)
    return Action(Note(home.name, text, past_hold=hold), why)


def compaction(state: State, area: str, stage: str, passes: str, remark: str = "") -> Action:
    """A stage was compacted in so many passes. Raises Refusal."""
    home = area_named(state.plan, area)
    stage = stage_named(home, stage)
    plain = passes.strip()
    if not (plain.isascii() and plain.isdigit() and 1 <= int(plain[:4]) <= MOST_PASSES):
        raise Refusal(_("“{passes}” is not a number of passes; write a whole number such as 4.", passes=passes[:20]))
    number = int(plain)
    said = plural(number, "{stage} compacted, {n} pass", "{stage} compacted, {n} passes", stage=stage)
    text = f"{said}; {one_line(remark, '')}" if remark.strip() else said
    return Action(Note(home.name, text, compacted=Compacted(stage, number)), plain)


def refuse_no_subgrade(area: Area) -> None:
    """Raises Refusal where nothing is dug in that area."""
    if SUBGRADE not in area.stages:
        raise Refusal(_("{area} has no subgrade to dig below.", area=area.name))


def order_undercut(state: State, area: str, point: str, depth: str, ordered_by: str, why: str) -> Action:
    """An area, or one point of it, is to be dug so far below its subgrade, as someone ordered. Raises Refusal."""
    home = area_named(state.plan, area)
    refuse_no_subgrade(home)
    name = ""
    if point.strip():
        points = [each.name for each in home.points]
        known = as_known(point, points)
        if known is None:
            meant = suggestion(point, points)
            raise Refusal(_("{area} has no point “{point}”.{meant}", area=home.name, point=point, meant=meant))
        name = known
    length = length_in(depth, state.plan.notation.units)
    if length <= ZERO:
        raise Refusal(_("An undercut goes below the subgrade; write how far, more than zero."))
    who = one_line(ordered_by, _("Say who ordered it; that stays in the log."))
    reason = one_line(why, _("Say in a few words why; the reason stays in the log."))
    deep = show_exact(length, state.plan.notation.units, unit=True)
    where = stored("at {point}", point=name) if name else stored("everywhere")
    text = stored(
        "undercut {deep} {where} ordered by {who}: {reason}", deep=deep, where=where, who=who, reason=reason
    )
    return Action(Note(home.name, one_line(text, ""), undercut=Undercut(name, length, who)), depth)
