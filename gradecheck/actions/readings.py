"""What the rod read at a point, whether the figure looks like a slip, figures corrected; notes and reasons."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Collection, Sequence

from gradecheck.actions.entered import (
    Action,
    Refusal,
    length_in,
    length_on,
    one_line,
    point_named,
    rod_named,
    setup_now,
    setup_then,
    stage_named,
    target_of,
)
from gradecheck.actions.layers import refuse_held
from gradecheck.catalogue import _, in_english, stored
from gradecheck.checks.blunders import Slip, slip
from gradecheck.checks.verdict import judge
from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    CautionsRead,
    Entry,
    Fact,
    Judged,
    Late,
    MarkMade,
    Note,
    Reading,
    SetupMade,
    Void,
)
from gradecheck.measure.printed import offset_words
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.names import folded
from gradecheck.state.state import State, Surface
from gradecheck.state.strings import NoSpotError, on_string


def reading(
    state: State,
    surface: Surface,
    typed: str,
    question: str = "",
    above: Length | None = None,
    late: Late | None = None,
    past: Collection[str] = (),
) -> Action:
    """The rod at that surface reads what was typed; `question` is what was asked before it was kept.

    `above` is the working offset it was held at, as `working_offset` reads it; `late` says when and by whom a reading
    from paper was taken, which is read from the setup as it was then. `past` are hold points gone past together with
    it; another that is open is a `HeldError`.
    """
    refuse_held(state, surface, past)
    setup = setup_now(state) if late is None else setup_then(state, late)
    if setup.instrument is None:
        raise Refusal(
            _(
                "{point} can't be read from that setup ({why_no_height}).",
                point=surface.point,
                why_no_height=state.why_no_height(setup.id),
            )
        )
    length = length_on(typed, setup.instrument.rod)
    judged = _judged(state, setup.id, length, surface, above)
    spot = state.spot(surface)
    between = spot.between if spot is not None else None
    return Action(Reading(*surface, setup.id, length, judged, question, above, late, between), typed)


def spot_on_string(state: State, stage: str | None, typed: str) -> Surface | None:
    """The spot that ``P4 to P8 at 3 ft`` means, at that stage, the finish where none is given; None for another text.

    Raises Refusal.
    """
    try:
        spot = on_string(state.plan, typed, state.plan.notation.units)
    except NoSpotError as wrong:
        raise Refusal(str(wrong)) from wrong
    if spot is None:
        return None
    stages = spot.area.stages
    return Surface(spot.area.name, spot.name, stages[-1] if stage is None else stage_named(spot.area, stage))


_OFFSET = re.compile(r"(?:offset +)?(?P<size>.+?) *(?P<side>above|below)", re.IGNORECASE)


def working_offset(state: State, typed: str) -> Length | None:
    """How far above its target a string or form is, from ``3 1/4 above`` or ``1 below``; None from ``off``.

    Below it is negative. Raises Refusal.
    """
    plain, units = " ".join(typed.split()), state.plan.notation.units
    if plain.casefold() in ("off", "0", "offset off", "offset 0"):
        return None
    found = _OFFSET.fullmatch(plain)
    if found is None:
        raise Refusal(
            _(
                "“{plain}” is not an offset; write it like {riser} above, or off.",
                plain=plain,
                riser=units.examples.riser,
            )
        )
    size = length_in(found["size"], units)
    if size < ZERO:
        raise Refusal(_("Write an offset without a minus; above and below give the direction."))
    return (size if found["side"].casefold() == "above" else -size) if size else None


def change_offset(state: State, typed: str) -> Action:
    """A string, form or stake stands so far off its target from here on, from ``offset 3 1/4 above``; or no more.

    Raises Refusal.
    """
    above = working_offset(state, typed)
    if above is None:
        return Action(Note(None, stored("working offset off"), ZERO), typed)
    said = in_english(offset_words)(above, state.plan.notation.units)
    return Action(
        Note(None, stored("working offset {said} the target, until it is taken off", said=said), above), typed
    )


def question(
    state: State, surface: Surface, typed: str, above: Length | None = None, late: Late | None = None
) -> Slip | None:
    """Whether a figure looks like a slip, None where it looks like honest work."""
    setup, target = state.setup if late is None else state.setup_at(late.after), state.target(surface)
    if setup is None or setup.instrument is None or target is None or state.is_example(surface, setup.id):
        return None
    aim = target.wanted if above is None else target.wanted + above
    wanted = setup.instrument.grade_rod(aim, state.place(surface))
    if wanted is None:
        return None
    rod = setup.instrument.rod
    length = length_on(typed, rod)
    return slip(typed, length, wanted, rod.notation, target.tolerance, rod.kind, *state.beside(surface))


def corrected(state: State, first: Entry, last: Entry, typed: str) -> Fact:
    """The fact that corrects `last`, which counts in the place of `first` and has a rod reading entered wrong."""
    match last.fact:
        case Reading() as old:
            setup = state.setups.get(old.setup)
            if setup is None or setup.instrument is None:
                why = state.why_no_height(old.setup)
                raise Refusal(
                    _(
                        "Entry {seq} can't be corrected ({why}); read {point} again.",
                        seq=first.seq,
                        why=why,
                        point=old.point,
                    )
                )
            length = length_on(typed, setup.instrument.rod)
            judged = _judged(state, old.setup, length, Surface(old.area, old.point, old.stage), old.above)
            return dataclasses.replace(old, rod=length, judged=judged)
        case SetupMade() as old:
            return dataclasses.replace(old, backsights=_corrected_sights(state, old, typed))
        case MarkMade(reading=None) as old:
            setup = state.setups.get(old.setup)
            rod = setup.instrument.rod if setup and setup.instrument else state.plan.rod
            return dataclasses.replace(old, rod=length_on(typed, rod))
        case MarkMade() as old:
            raise Refusal(_("{mark} was made from a reading; correct that reading.", mark=old.mark))
        case BacksightTaken() as old:
            raise Refusal(
                _(
                    "Entry {seq} isn't part of a setup that counts; take the backsight on {mark} again.",
                    seq=first.seq,
                    mark=old.sight.mark,
                )
            )
        case _:
            raise Refusal(_("Entry {seq} has no rod reading to correct; strike it and say why.", seq=first.seq))


def why_corrected(corrected: Entry, why: str) -> Action:
    """Why a rod figure was corrected, as a note beside the right one."""
    reason = one_line(why, _("Say in a few words why it is corrected; the reason stays in the log."))
    return Action(
        Note(corrected.area, one_line(stored("no. {seq} corrected: {reason}", seq=corrected.seq, reason=reason), "")),
        why,
    )


def strike(entry_id: str, why: str) -> Action:
    """The entry no longer counts, and why; whether it may be struck is for the session to say."""
    return Action(
        Void(one_line(why, _("Say in a few words why it is struck; the reason stays in the log."))), why, entry_id
    )


def note(text: str, area: str | None = None) -> Action:
    """Words for the log."""
    return Action(Note(area, one_line(text, _("Nothing was typed; type the note, then press Enter."))), text)


def cautions(read: Sequence[str]) -> Action:
    """These cautions were read."""
    return Action(CautionsRead(tuple(read)))


def read_surface(state: State, point: str) -> Surface:
    """The point's last surface that was read, the topmost first. Raises Refusal where none was."""
    area, name = point_named(state.plan, point)
    read = (Surface(area, name, stage) for stage in reversed(state.plan.areas[area].stages))
    found = next((surface for surface in read if state.latest(surface)), None)
    if found is None:
        raise Refusal(_("{name} was not read yet; only what was read can become a mark.", name=name))
    return found


def _corrected_sights(state: State, old: SetupMade, typed: str) -> tuple[Backsight, ...]:
    name, equals, figure = typed.rpartition("=")
    if not equals:
        if not old.backsights:
            raise Refusal(_("This setup has no backsight to correct; strike it and set up again."))
        if len(old.backsights) > 1:
            example = f"{old.backsights[0].mark}={rod_named(state, old.rod).notation.units.examples.mark}"
            raise Refusal(
                _(
                    "This setup has {backsights} backsights; say which, like {example}.",
                    backsights=len(old.backsights),
                    example=example,
                )
            )
        name, figure = old.backsights[0].mark, typed
    if folded(name) not in {folded(sight.mark) for sight in old.backsights}:
        raise Refusal(_("This setup has no backsight on “{typed}”.", typed=name.strip()))
    length = length_on(figure, rod_named(state, old.rod))
    return tuple(
        dataclasses.replace(sight, rod=length) if folded(sight.mark) == folded(name) else sight
        for sight in old.backsights
    )


def _judged(state: State, setup: str, length: Length, surface: Surface, above: Length | None = None) -> Judged:
    target = target_of(state, surface)
    instrument = state.book.setup(setup)
    found = instrument.elevation(length, state.place(surface)) if instrument else None
    if found is None:
        raise Refusal(_("The beam is sloped: give {point} its place in the plan, “at: [x, y]”.", point=surface.point))
    if above is not None:
        found = found.minus(above)
    tolerance = target.tolerance
    if state.is_example(surface, setup):
        return Judged(found, target.wanted, tolerance.high, tolerance.low, Word.EXAMPLE)
    word = judge(found, target.wanted, tolerance, state.guard(setup, length, surface)).word
    return Judged(found, target.wanted, tolerance.high, tolerance.low, word)
