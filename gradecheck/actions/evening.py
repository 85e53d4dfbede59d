"""What is recorded beside readings and in the evening: tapes, steps gauged, the day, stages signed off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from gradecheck.actions.entered import Action, Refusal, area_named, initials, length_in, one_line, stage_named
from gradecheck.catalogue import _, translated
from gradecheck.ground.surfaces import distance
from gradecheck.journal.facts import DayDescribed, Gauged, SignedOff, Taped
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import ZERO
from gradecheck.plan.names import as_known, folded
from gradecheck.plan.problems import suggestion
from gradecheck.state.state import State, Surface


def tape(state: State, layout: str, start: str, end: str, typed: str) -> Action:
    """The tape between two corners of a layout check shows what was typed."""
    plan = state.plan.layout.get(as_known(layout, state.plan.layout) or "")
    if plan is None:
        known = ", ".join(state.plan.layout) or _("none")
        raise Refusal(_("There is no layout check “{layout}”; the plan names {known}.", layout=layout, known=known))
    corners = {folded(name): (name, place) for name, place in plan.corners}
    ends = [corners.get(folded(name)) for name in (start, end)]
    if ends[0] is None or ends[1] is None or ends[0] == ends[1]:
        names = ", ".join(name for name, _ in plan.corners)
        raise Refusal(
            _(
                "“{start} to {end}” is not a side or diagonal of {name}; its corners are {names}.",
                start=start,
                end=end,
                name=plan.name,
                names=names,
            )
        )
    length = length_in(typed, state.plan.notation.units)
    if length <= ZERO:
        raise Refusal(
            _(
                "A taped length must be more than zero; type it like {tape}.",
                tape=state.plan.notation.units.examples.tape,
            )
        )
    (one, here), (other, there) = ends[0], ends[1]
    return Action(Taped(plan.name, one, other, length, distance(here, there)), f"{start}-{end}={typed}")


def gauge(state: State, kind: Literal["lippage", "above drain"], area: str, where: str, typed: str) -> Action:
    """A step measured directly, with a gauge or a rule."""
    area = area_named(state.plan, area).name
    length = length_in(typed, state.plan.notation.units)
    if kind == "lippage" and length < ZERO:
        raise Refusal(_("Lippage is the size of the step, without a minus."))
    place = one_line(where, _("Say where it was measured, for example “by P4”."))
    return Action(Gauged(kind, area, place, length), typed)


def describe_day(weather: str, crew: str) -> Action:
    """The weather and who was there, for the daily report."""
    words = (
        one_line(weather, _("Say what the weather was, for example “dry, 12 C”.")),
        one_line(crew, _("Say who was there.")),
    )
    return Action(DayDescribed(*words), f"{weather}; {crew}")


def cannot_sign(state: State, area: str, stage: str) -> str | None:
    """Why nobody may sign the stage as it is, whatever is accepted; None where nothing is in the way."""
    from gradecheck.state.built import exceptions  # only the evening needs it, and the first screen waits for imports

    if lines := state.plan.areas[area].examples:
        where = some([str(line) for line in lines])
        return _(
            "{area} has EXAMPLE FIGURES (job file, line {where}); write your own there, then sign.",
            area=area,
            where=where,
        )
    found = exceptions(state, area, stage)
    if len(found.unread) == len(state.plan.areas[area].points):
        return _("Nothing was read at {stage} in {area}; there is nothing to sign.", stage=stage, area=area)
    if found.doubtful:
        return _(
            "In doubt: {doubtful}. Read them again, or say why they can be trusted, then sign.",
            doubtful=some(found.doubtful),
        )
    if found.unjudged:
        surfaces = [Surface(area, point, stage) for point in found.unjudged]
        shots = ((surface, state.latest(surface)) for surface in surfaces)
        why = dict.fromkeys(state.why_not_judged(shot, surface) for surface, shot in shots if shot)
        return _(
            "Can't be judged: {unjudged} ({why}). Read them again, then sign.",
            unjudged=some(found.unjudged),
            why="; ".join(why),
        )
    return None


def sign_off(
    state: State,
    area: str,
    stage: str,
    accept: Sequence[str],
    remark: str = "",
    by: str | None = None,
    asked: Sequence[str] = (),
) -> Action:
    """A stage signed off. Points that are out, or were not read, must be named in `accept`; doubts end it.

    `asked` are the questions that were asked and are answered by signing; one that was not asked ends it too.
    `by` are the initials of whoever signs, where that may be another than who does what follows.
    """
    from gradecheck.state.built import exceptions
    from gradecheck.state.signing import questions

    signer = None if by is None else initials(by)
    named = area_named(state.plan, area)
    area, stage = named.name, stage_named(named, stage)
    if fault := cannot_sign(state, area, stage):
        raise Refusal(fault)
    found = exceptions(state, area, stage)
    out, unread = found.out, found.unread
    accepted = {folded(name) for name in accept}
    points = [point.name for point in named.points]
    for name in accept:
        if as_known(name, points) is None:
            raise Refusal(
                _(
                    "There is no point “{name}” in {area} to accept.{meant}",
                    name=name,
                    area=area,
                    meant=suggestion(name, points),
                )
            )
    left = [name for name in (*out, *unread) if folded(name) not in accepted]
    if left:
        raise Refusal(_("Not on grade or not read: {left}. Fix them, or accept each by name.", left=", ".join(left)))
    open_now = questions(state, area, stage)
    if unasked := [each for each in open_now if each not in asked]:
        raise Refusal(
            _(
                "Not accepted yet: {unasked}. Fix them, or accept them as open too.",
                unasked="; ".join(map(translated, unasked)),
            )
        )
    fact = SignedOff(area, stage, out, unread, one_line(remark, "") if remark.strip() else "", open_now)
    return Action(fact, remark, by=signer)
