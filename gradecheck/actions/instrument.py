"""What is done to the laser and the marks: moved, set up, rechecked, carried on, shown from another zero."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from itertools import count

from gradecheck.actions.entered import (
    Action,
    Refusal,
    description,
    elevation_in,
    length_on,
    one_line,
    refuse_look_alike,
    rod_named,
    setup_now,
    zero_of,
)
from gradecheck.catalogue import _, stored
from gradecheck.ground.spots import Place
from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    DatumChosen,
    DoubtAnswered,
    InstrumentMoved,
    MarkGiven,
    MarkMade,
    Rechecked,
    SetupMade,
)
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import some
from gradecheck.measure.quantities import Elevation, FallXY
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate
from gradecheck.plan.model import Rod
from gradecheck.plan.names import as_known, folded, one_form, point_name_fault
from gradecheck.plan.problems import suggestion
from gradecheck.state.state import State, Surface
from gradecheck.survey.level_book import LAST, Recheck, SightedMark

LONGEST_NAME = 24
NO_REASONS = frozenset(
    ["", "y", "yes", "n", "no", "ok", "okay", "use", "use it", "s", "si", "sí", "usar", "úselo", "uselo", "-", "."]
)
"""Answers that tell nobody later why a setup was used."""
BEGUN_ANEW = stored("a new setup was begun")
"""Why the laser counts as moved where a backsight begins another setup."""


def moved(state: State, why: str) -> Action:
    """The laser was moved or disturbed: its setup is over."""
    newest = state.newest_setup
    if newest is None or state.moved_since(newest.seq):
        raise Refusal(_("No setup; there is nothing to move."))
    return Action(InstrumentMoved(one_line(why, _("Say in a few words why it was moved."))), why)


def backsight(
    state: State, mark: str, typed: str, rod: str | None = None, slopes: FallXY | None = None
) -> list[Action]:
    """While setting up, the rod (the plan's first where none is named) reads that on the mark.

    The setup before, if there was one, is over.
    """
    chosen = rod_named(state, rod)
    fact = under_beam(state, BacksightTaken(chosen.name, _backsight(state, mark, typed, chosen)), slopes)
    taken, newest = Action(fact, f"{mark}={typed}"), state.newest_setup
    if newest is None or state.moved_since(newest.seq):
        return [taken]
    return [moved(state, BEGUN_ANEW), taken]


def under_beam(state: State, taken: BacksightTaken, slopes: FallXY | None) -> BacksightTaken:
    """The same backsight under a beam with those falls, a level one without."""
    if slopes is not None:
        _refuse_unplaced(state, [taken.sight.mark])
    return dataclasses.replace(taken, slopes=slopes)


def set_up(state: State, mark: str, typed: str, rod: str | None = None) -> Action:
    """A setup on one mark, on which the rod reads what was typed."""
    return set_up_on(state, [(mark, typed)], rod)


def set_up_on(
    state: State,
    sights: Sequence[tuple[str, str]],
    rod: str | None = None,
    slopes: FallXY | None = None,
    place: Place | None = None,
    why: str = "",
) -> Action:
    """A setup on the marks, with what the rod (the plan's first where none is named) reads on each.

    `why` is the reason for using it though the marks disagree; it is kept where they do.
    """
    chosen = rod_named(state, rod)
    backsights = [_backsight(state, mark, typed, chosen) for mark, typed in sights]
    fact = _set(state, chosen, backsights, slopes, place, why)
    return Action(fact, " ".join(f"{mark}={figure}" for mark, figure in sights))


def finish_setup(state: State, slopes: FallXY | None = None, place: Place | None = None, why: str = "") -> Action:
    """The setup that the backsights taken since the laser was moved make, under the beam they were taken with.

    `why` is the reason for using it though the marks disagree.
    """
    rods = {sight.rod for sight in state.sights}
    if len(rods) > 1:
        raise Refusal(
            _("The backsights were read on {rods}; take all on one rod.", rods=_(" and ").join(sorted(rods)))
        )
    falls = {sight.slopes for sight in state.sights}
    if slopes is None and len(falls) > 1:
        raise Refusal(_("The backsights were not all read under the same falls; say “falls 2%, 0.5%” or “level”."))
    slopes = slopes or next(iter(falls), None)
    rod = rod_named(state, min(rods, default=None))
    return Action(_set(state, rod, [sight.sight for sight in state.sights], slopes, place, why))


def _set(
    state: State,
    rod: Rod,
    backsights: Sequence[Backsight],
    slopes: FallXY | None,
    place: Place | None,
    why: str,
) -> SetupMade:
    names = [sight.mark for sight in backsights]
    if not names:
        raise Refusal(_("Read the rod on at least one mark first."))
    if len(set(names)) < len(names):
        raise Refusal(_("A mark is named twice; give each one reading."))
    if slopes is not None:
        _refuse_unplaced(state, names)
    made = SetupMade(rod.name, tuple(backsights), slopes, place)
    return dataclasses.replace(made, why=_reason(state, made, why)) if why else made


def _reason(state: State, made: SetupMade, why: str) -> str:
    """Why a setup is used though its marks disagree; nothing where they agree. Raises `Refusal`."""
    sights = [(sight.mark, sight.rod) for sight in made.backsights]
    agreement = state.book.agreement(state.setup_from(sights, made.rod, made.slopes))
    if agreement is None or agreement.within(state.plan.rechecks.allowed):
        return ""
    if why.strip().casefold() in NO_REASONS:
        raise Refusal(_("Say in a few words why this setup may be used; the reason stays in the log."))
    return one_line(why, _("Say in a few words why this setup may be used; the reason stays in the log."))


def _refuse_unplaced(state: State, marks: Sequence[str]) -> None:
    nowhere = [name for name in marks if state.book.place(name) is None]
    if nowhere:
        raise Refusal(
            _(
                "A sloped beam needs to know where {nowhere} lies; give it “at: [x, y]” in the plan.",
                nowhere=", ".join(nowhere),
            )
        )


def place_named(state: State, text: str) -> Place:
    """Where the laser or a mark is: ``12 ft, 20 ft`` on the plan, or at a point or mark that has a place there."""
    x, comma, y = text.partition(",")
    like = state.plan.notation.units.examples.place
    known = as_known(text.strip(), [*state.plan.area_of, *state.book.marks()])
    if known is not None:
        area = state.plan.areas.get(state.plan.area_of.get(known, ""))
        at = area.point(known).at if area else state.book.place(known)
        if at is None:
            raise Refusal(
                _("The plan does not say where {known} lies; give x and y, such as “{like}”.", known=known, like=like)
            )
        return at
    try:
        if comma:
            return read_coordinate(x, state.plan.notation.units), read_coordinate(y, state.plan.notation.units)
        wrong = _("“{typed}” is neither.", typed=text.strip())
    except NotUnderstoodError as not_understood:
        wrong = str(not_understood)
    raise Refusal(_("A place is x and y, such as “{like}”, or the name of a point. {wrong}", like=like, wrong=wrong))


def beam_falls(text: str, units: Units) -> FallXY | None:
    """The falls of a sloped beam along x and y, from ``2%, 0.5%``; None from ``0``, a level one. Raises Refusal."""
    # Only a beam set to grade needs slopes on site, and reading them brings pint in.
    from gradecheck.measure.units import UnitProblemError, read_slope

    x, _comma, y = text.partition(",")
    try:
        like = units.examples.slopes
        falls = FallXY(read_slope(_with_unit(x), like), read_slope(_with_unit(y or "0"), like))
        return falls if any(fall.ratio for fall in falls) else None
    except UnitProblemError as wrong:
        raise Refusal(_("Slopes go along x and y, such as “2%, 0.5%”. {wrong}", wrong=wrong)) from wrong


def _with_unit(fall: str) -> str:
    """Nought needs no unit."""
    return "0%" if fall.strip() == "0" else fall


def _backsight(state: State, mark: str, typed: str, rod: Rod) -> Backsight:
    name, elevation = known_mark(state, mark)
    return Backsight(name, length_on(typed, rod), elevation)


def mark_meant(state: State, typed: str) -> str | None:
    """The mark that is known under that name; where several laptops write, first of all this one's own."""
    marks = state.book.marks()
    own = state.laptops.own_name(one_form(typed.strip())) if state.laptops is not None else typed
    return as_known(own, marks) or as_known(typed, marks)


def known_mark(state: State, typed: str) -> tuple[str, Elevation]:
    """The mark meant, whatever its capitals, and its elevation."""
    marks, name = state.book.marks(), mark_meant(state, typed)
    if name is None:
        raise Refusal(
            _(
                "There is no mark “{typed}”; known are {marks}.{meant}",
                typed=typed,
                marks=some(marks, 8),
                meant=suggestion(typed, marks),
            )
        )
    elevation = state.mark(name)
    if elevation is None:
        raise Refusal(_("The elevation of {name} is not known: the setup it was shot from was struck.", name=name))
    return name, elevation


def recheck(state: State, mark: str, typed: str) -> Action:
    """From the setup that was made last, the rod reads that on a mark."""
    newest = state.newest_setup
    if newest is None or newest.instrument is None or state.moved_since(newest.seq):
        raise Refusal(_("No setup; set up on a mark first."))
    name, _elevation = known_mark(state, mark)
    length = length_on(typed, newest.instrument.rod)
    look = Recheck(LAST, "", newest.id, name, length)
    off = state.doubt.misclosure(look)
    if off is None:
        raise Refusal(_("This setup's beam is sloped, and the plan does not say where {name} is.", name=name))
    return Action(Rechecked(newest.id, name, length, off, state.doubt.is_good(look)), f"{mark}={typed}")


def other_mark(state: State, looked: Rechecked) -> str | None:
    """Another mark on which the rod would read just that: the rod may be on it. None where none fits."""
    for name in state.book.marks():
        off = state.doubt.misclosure(Recheck(LAST, "", looked.setup, name, looked.rod))
        if name != looked.mark and off is not None and abs(off) <= state.plan.rechecks.allowed:
            return name
    return None


def mark(state: State, name: str, typed: str, what: str = "", at: str = "") -> Action:
    """A spot becomes a mark, seen from the current setup; `at` says where on the plan it lies, if that is known."""
    setup = setup_now(state)
    assert setup.instrument is not None
    rod = length_on(typed, setup.instrument.rod)
    place = place_named(state, at) if at.strip() else None
    return Action(MarkMade(new_mark_name(state, name), description(what), setup.id, rod, place), f"{name}={typed}")


def new_mark_name(state: State, typed: str) -> str:
    """A name for a mark that does not exist yet, or that of a turning point to be taken anew as it is spelt there."""
    name = one_form(typed.strip())
    untied = {folded(datum.mark): datum.mark for datum in state.plan.datums.values()}
    if folded(name) in untied and untied[folded(name)] not in state.plan.benchmarks:
        return untied[folded(name)]
    if not name or not name[0].isalpha() or len(name) > LONGEST_NAME or not name.isprintable():
        raise Refusal(
            _(
                "“{name}” is no name for a mark; it begins with a letter and has {most} at most.",
                name=name,
                most=LONGEST_NAME,
            )
        )
    if fault := point_name_fault(name):
        raise Refusal(fault)
    if folded(name) in state.plan.names:
        raise Refusal(
            _("“{name}” is a point or benchmark of the plan already; give the mark a name of its own.", name=name)
        )
    if known := mark_meant(state, name):
        own = known if state.laptops is None else state.laptops.own_plain(known)
        if own is None:
            raise Refusal(_("{known} was made on another laptop; give your spot another name.", known=known))
        return own
    refuse_look_alike(state, name)
    return name


def mark_question(state: State, name: str) -> str | None:
    """What to ask before a name is given to a spot that a mark has already; None where it is free."""
    known = mark_meant(state, name)
    if known is None:
        return None
    return _(
        "{known} is a mark already; if you shoot it again, the new spot and elevation count from now on.", known=known
    )


def next_mark_name(state: State) -> str:
    """A name to offer for a new mark: what a datum waits for, else the next turning point."""
    waiting = (datum.mark for datum in state.plan.datums.values() if state.zero_of(datum.name) is None)
    taken = {name.casefold() for name in (*state.book.marks(), *state.plan.names)}
    free = (name for n in count(1) if (name := f"TP{n}").casefold() not in taken and not mark_meant(state, name))
    return next(waiting, None) or next(free)


def promote(state: State, surface: Surface, what: str = "") -> Action:
    """A point that was read becomes a mark of the same name; without words of its own it is told by its stage."""
    shot = state.latest(surface)
    if shot is None:
        raise Refusal(
            _(
                "{point} was not read at {stage}; only what was read can become a mark.",
                point=surface.point,
                stage=surface.stage,
            )
        )
    if shot.above is not None:
        raise Refusal(
            _(
                "{point} was read at a working offset; read the point itself before you carry elevation from it.",
                point=surface.point,
            )
        )
    if state.in_doubt(shot):
        raise Refusal(
            _(
                "The reading at {point} is in doubt; read it again before you carry elevation from it.",
                point=surface.point,
            )
        )
    words = description(what) or surface.stage
    return Action(MarkMade(surface.point, words, shot.setup, shot.rod, state.place(surface), shot.id), surface.point)


def give_mark(state: State, mark: str, typed: str, *, has_moved: bool, why: str) -> Action:
    """A mark's elevation was wrong all along, or it has moved and is this from now on."""
    name, _elevation = known_mark(state, mark)
    source = state.book.source(name)
    assert source is not None
    if not has_moved and isinstance(source, SightedMark):
        raise Refusal(
            _(
                "{name} was carried from a setup; correct the reading it was shot with, or say that it moved.",
                name=name,
            )
        )
    if not has_moved and source.seq:
        raise Refusal(
            _("{name} was marked as moved; strike that entry first, or say that it moved again.", name=name)
        )
    given = elevation_in(state, typed)
    reason = one_line(why, _("Say in a few words how you know; the reason stays in the log."))
    return Action(MarkGiven(name, given, has_moved, reason), f"{mark}={typed}")


def answer_doubt(state: State, why: str) -> Action:
    """The readings and marks in doubt are trusted all the same, and why."""
    doubtful = [*(shot.id for _, shot in state.doubts()), *(entry for _, entry in state.doubt.marks())]
    if not doubtful:
        raise Refusal(_("Nothing is in doubt."))
    return Action(
        DoubtAnswered(tuple(doubtful), one_line(why, _("Say in a few words why they can be trusted."))), why
    )


def show_datum(state: State, datum: str | None) -> Action:
    """Elevations are shown from another zero."""
    named, known = None, state.plan.datums
    if datum is not None and (named := as_known(datum, known)) is None:
        raise Refusal(
            _(
                "There is no datum “{datum}”; known are {known}.{meant}",
                datum=datum,
                known=", ".join(known) or _("none"),
                meant=suggestion(datum, known),
            )
        )
    zero_of(state, named)
    return Action(DatumChosen(named), datum or "")
