"""How what is entered is read in the light of the state, or refused with one sentence."""

from __future__ import annotations

from dataclasses import dataclass

from gradecheck.catalogue import _, stage_word
from gradecheck.journal.facts import Fact, Late
from gradecheck.journal.stamps import day_of, taken_at
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate, read_length
from gradecheck.plan.model import Area, Plan, Rod
from gradecheck.plan.names import LONGEST_TEXT as LONGEST_IN_A_PLAN
from gradecheck.plan.names import NamesInUse, as_known, folded, hidden_in, one_form
from gradecheck.plan.problems import suggestion
from gradecheck.plan.targets import Target
from gradecheck.state.state import KeptSetup, State, Surface

LONGEST_TEXT = 200
LONGEST_INITIALS = 8


class Refusal(Exception):
    """What was asked for makes no sense now; the message is one sentence for the person, and nothing changed."""


@dataclass(frozen=True, slots=True)
class Action:
    """A fact about to be recorded, with what was typed; the session adds who, when, and under which plan.

    `replaces` is the id of the entry that it corrects or strikes. `by` are the initials of whoever did it, where that
    may be another than the session's own person.
    """

    fact: Fact
    typed: str = ""
    replaces: str | None = None
    by: str | None = None


def initials(typed: str) -> str:
    """Who it is, in capitals. Raises Refusal."""
    plain = typed.strip().upper()
    if not plain.isalnum() or not plain[0].isalpha() or len(plain) > LONGEST_INITIALS:
        raise Refusal(_("Initials are one to {longest} letters, for example RK.", longest=LONGEST_INITIALS))
    return plain


def one_line(text: str, otherwise: str) -> str:
    """The words on one line; raises Refusal with `otherwise` where there are none."""
    plain = " ".join(text.split())
    if not plain:
        raise Refusal(otherwise)
    if len(plain) > LONGEST_TEXT:
        raise Refusal(_("That is {number} characters; say it in {longest}.", number=len(plain), longest=LONGEST_TEXT))
    if any("\ud800" <= character <= "\udfff" for character in plain):
        raise Refusal(_("That has a character in it that can't be kept; type it again."))
    return plain


def description(what: str) -> str:
    """What a point or mark is, in words that may stand in a plan; they may be left out. Raises Refusal."""
    plain = one_form(" ".join(what.split()))
    if len(plain) > LONGEST_IN_A_PLAN or hidden_in(plain) is not None:
        raise Refusal(
            _(
                "That can't go in a plan; say what it is in {longest} plain characters.",
                longest=LONGEST_IN_A_PLAN,
            )
        )
    return plain


def setup_now(state: State) -> KeptSetup:
    """The setup that may be read from, or why there is none."""
    setup = state.setup
    if setup is not None:
        return setup
    newest = state.newest_setup
    if newest is not None and state.doubt.failed(newest.id):
        raise Refusal(_("The laser may have moved; set up again before you read on."))
    if newest is not None and state.moved_since(newest.seq):
        raise Refusal(_("The laser was moved; finish the new setup before you read on."))
    raise Refusal(_("No setup; set up on a mark first."))


def setup_then(state: State, late: Late) -> KeptSetup:
    """The setup that a reading from paper was taken from, or why there was none."""
    setup, taken = state.setup_at(late.after), taken_at(late)
    if setup is None or taken is None:
        raise Refusal(
            _(
                "No setup could be read from at {time} on {day}; see the log for the times.",
                time=late.at[11:16],
                day=late.at[:10],
            )
        )
    at, offset = taken
    looked = state.looked_by(setup.id, late.after)
    if looked is not None and day_of(looked, offset) != day_of(at, offset):
        raise Refusal(
            _(
                "The setup at {time} on {day} was from another day; enter the reading as a note.",
                time=late.at[11:16],
                day=late.at[:10],
            )
        )
    return setup


def target_of(state: State, surface: Surface) -> Target:
    """What the plan wants there, or why that can't be said."""
    target = state.target(surface)
    if target is not None:
        return target
    area = state.plan.areas.get(surface.area)
    if area is not None:
        zero_of(state, area.datum)
    raise Refusal(
        _(
            "The plan has no {point} at {stage} in {area}.",
            point=surface.point,
            stage=surface.stage,
            area=surface.area,
        )
    )


def zero_of(state: State, datum: str | None) -> Elevation:
    """Where a datum's zero lies, counted from the job's own; raises Refusal while it is not tied."""
    zero = state.zero_of(datum)
    if zero is None:
        mark = state.plan.datums[datum or ""].mark
        raise Refusal(
            _(
                "The datum “{datum}” isn't tied in yet: shoot {mark} first, from a finished setup.",
                datum=datum,
                mark=mark,
            )
        )
    return zero


def rod_named(state: State, name: str | None) -> Rod:
    """The rod of that name, the plan's first where none is named."""
    if name is None:
        return state.plan.rod
    known = as_known(name, state.plan.rods)
    if known is None:
        near = suggestion(name, state.plan.rods)
        raise Refusal(
            _(
                "There is no rod “{name}”; known are {rods}.{meant}",
                name=name,
                rods=", ".join(state.plan.rods),
                meant=near,
            )
        )
    return state.plan.rods[known]


def no_point(plan: Plan, typed: str) -> Refusal:
    """Why a name is refused that no point of the plan has, with the one that may be meant."""
    return Refusal(
        _("There is no point “{point}” in this job.{meant}", point=typed, meant=suggestion(typed, plan.area_of))
    )


def point_named(plan: Plan, typed: str) -> tuple[str, str]:
    """The area and the name of that point, whatever its capitals. Raises Refusal where there is none."""
    name = plan.names.get(folded(typed), "")
    area = plan.area_of.get(name)
    if area is None:
        raise no_point(plan, typed)
    return area, name


def area_named(plan: Plan, typed: str) -> Area:
    """The area meant, whatever its capitals."""
    known = as_known(typed, plan.areas)
    if known is None:
        near = suggestion(typed, plan.areas)
        raise Refusal(
            _(
                "There is no area “{typed}”; known are {areas}.{meant}",
                typed=typed,
                areas=", ".join(plan.areas),
                meant=near,
            )
        )
    return plan.areas[known]


def stage_named(area: Area, typed: str) -> str:
    """The stage of that area meant, whatever its capitals."""
    known = as_known(typed, area.stages)
    if known is None:
        read = {stage_word(stage): stage for stage in area.stages}
        known = read.get(as_known(typed, list(read)) or "")
    if known is None:
        near = suggestion(typed, area.stages)
        raise Refusal(
            _(
                "Area “{name}” has no stage “{typed}”; it has {stages}.{meant}",
                name=area.name,
                typed=typed,
                stages=", ".join(area.stages),
                meant=near,
            )
        )
    return known


def length_on(typed: str, rod: Rod) -> Length:
    """The figure on that rod; a bare number has its unit. Raises Refusal where the rod is not that long.

    One that is held upside down, against a soffit, reads below zero and no further than its length either.
    """
    figure = length_in(typed, rod.notation.units)
    if rod.length is not None and abs(figure) > rod.length:
        long, read = (show_exact(each, rod.notation.units, unit=True) for each in (rod.length, figure))
        raise Refusal(
            _(
                "The {rod} is {length} long and can't read {figure}; look at the rod again.",
                rod=rod.name,
                length=long,
                figure=read,
            )
        )
    return figure


def length_in(typed: str, units: Units) -> Length:
    """The length typed; a bare number has that unit."""
    try:
        return read_length(typed, units)
    except NotUnderstoodError as wrong:
        raise Refusal(str(wrong)) from wrong


def coordinate_in(typed: str, units: Units) -> Length:
    """The coordinate typed, which may be counted from far away; a bare number has that unit."""
    try:
        return read_coordinate(typed, units)
    except NotUnderstoodError as wrong:
        raise Refusal(str(wrong)) from wrong


def elevation_in(state: State, typed: str, datum: str | None = None) -> Elevation:
    """The elevation typed, which is counted from the zero shown as all that are seen, from the zero of that datum."""
    typed_from_shown = length_in(typed, state.plan.notation.units)
    return (zero_of(state, state.datum) + typed_from_shown).minus(zero_of(state, datum).height)


def refuse_look_alike(state: State, name: str) -> None:
    """Raises Refusal where the name looks like that of a point or mark but is written in another alphabet."""
    known: NamesInUse[None] = NamesInUse()
    for each in (*state.plan.names.values(), *state.book.marks()):
        known.add(each, None)
    if alike := known.alike(name):
        raise Refusal(
            _(
                "“{name}” looks like “{alike}”, in another alphabet; type a name of its own.",
                name=name,
                alike=alike[0],
            )
        )


def refuse_plan_alike(state: State, offered: Plan) -> None:
    """Raises Refusal where a name of the offered plan looks like one the job has, but is of another alphabet."""
    read = dict.fromkeys(surface.point for surface in state.shots)  # of points that the plan lost since, too
    points = (*state.plan.names.values(), *state.book.marks(), *read)
    for had, sent in ((points, offered.names.values()), (state.plan.areas, offered.areas)):
        known: NamesInUse[None] = NamesInUse()
        for each in had:
            known.add(each, None)
        for name in sent:
            if known.same(name) is None and (alike := known.alike(name)):
                says = _(
                    "“{name}” looks like “{alike}”, a name this job has, in another alphabet",
                    name=name,
                    alike=alike[0],
                )
                raise Refusal(_("{says}; rename it in the job file.", says=says))
