"""Verbs that carry the zero: `setup`, `move`, `recheck`, `mark` and `datum`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.instrument import beam_falls, place_named
from gradecheck.catalogue import _
from gradecheck.cli.options import Recording, Reply, flag, named, on_session, option
from gradecheck.cli.shared import assignment, length_json, length_text, tell_cautions
from gradecheck.journal.facts import MarkMade, Rechecked, SetupMade
from gradecheck.measure.judged import judged_length, judged_reading
from gradecheck.plan.names import as_known
from gradecheck.report.instrument import agreement_line, chain_line, recheck_line, set_up_line
from gradecheck.session.session import Session


@dataclass(frozen=True, kw_only=True, slots=True)
class SetupOptions(Recording):
    sights: Sequence[str] = named("MARK=READING", nargs="+")
    rod: str | None = option("--rod", metavar="R", help=_("the rod read on, the plan's first where none is named"))
    falls: str | None = option("--falls", metavar="X,Y", help=_("slope of a sloped beam along x and y, as 2%%,0.5%%"))
    at: str | None = option("--at", metavar="X,Y", help=_("where the laser stands: x and y, or a point"))
    why: str = option("--why", metavar="TEXT", default="", help=_("why the setup is used though its marks disagree"))


@on_session(SetupOptions)
def setup(session: Session, options: SetupOptions) -> Reply:
    """Sets the laser up on one or more marks; 1 when they disagree by more than is allowed."""
    sights = [assignment(sight, session.plan.rod.notation.units) for sight in options.sights]
    slopes = beam_falls(options.falls, session.plan.notation.units) if options.falls is not None else None
    place = place_named(session.state, options.at) if options.at is not None else None
    action = actions.set_up_on(session.state, sights, options.rod, slopes, place, options.why)
    assert isinstance(action.fact, SetupMade)
    state, backsights = session.state, action.fact.backsights
    made = state.setup_from([(sight.mark, sight.rod) for sight in backsights], action.fact.rod, slopes)
    agreement, notation, allowed = state.book.agreement(made), state.plan.notation, state.plan.rechecks.allowed
    agreed = agreement is not None and agreement.within(allowed)
    answer: dict[str, object] = {"setup": None, "seq": None, "rod": action.fact.rod, "plane": None, "agree": agreed}
    if agreement is not None:
        answer["from"] = {mark: length_json(zero.height, notation) for mark, zero in agreement.zeros}
        spread = judged_length(agreement.spread, allowed, notation, passes=agreed)
        answer["spread"] = length_text(agreement.spread, spread.found)
    if not agreed and not action.fact.why:
        says = _("Not set up, nothing was recorded. Read a mark again, or say with --why TEXT why it may be used.")
        return Reply(answer, [says, agreement_line(state, made)], code=1)
    tell_cautions(session)
    entry = session.record(action)
    recorded = session.state.setup
    if recorded is None or recorded.instrument is None or recorded.id != entry.id:
        raise Refusal(_("The setup isn't finished; see the log."))
    plane = length_json(recorded.instrument.zero.height, notation)
    answer |= {"setup": recorded.id, "seq": recorded.seq, "plane": plane}
    lines = [set_up_line(session.state, recorded), agreement_line(session.state, made)]
    return Reply(answer, lines, code=0 if agreed else 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class MoveOptions(Recording):
    why: str = option("--why", metavar="TEXT", default="moved")


@on_session(MoveOptions)
def move(session: Session, options: MoveOptions) -> Reply:
    """Says that the laser was moved or disturbed."""
    entry = session.record(actions.moved(session.state, options.why))
    says = _("The laser was moved; no readings until it is set up again.")
    return Reply({"entry": entry.seq, "why": options.why}, [says])


@dataclass(frozen=True, kw_only=True, slots=True)
class RecheckOptions(Recording):
    sight: str = named("MARK=READING")


@on_session(RecheckOptions)
def recheck(session: Session, options: RecheckOptions) -> Reply:
    """Another look at a mark; 1 when it is off by more than is allowed."""
    mark, typed = assignment(options.sight, session.plan.rod.notation.units)
    entry = session.record(actions.recheck(session.state, mark, typed))
    fact = entry.fact
    assert isinstance(fact, Rechecked)
    off = judged_reading(fact.off, session.plan.rechecks.allowed, session.plan.notation).found
    answer = {
        "entry": entry.seq,
        "mark": fact.mark,
        "off": length_text(fact.off, off),
        "good": fact.good,
        "in doubt": [surface._asdict() for surface, _ in session.state.doubts()],
    }
    return Reply(answer, [recheck_line(session.state, entry, fact)], code=0 if fact.good else 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class MarkOptions(Recording):
    sight: str = named("NAME=READING")
    what: str = option("--what", metavar="TEXT", default="")
    at: str | None = option("--at", metavar="X,Y", help=_("where the new mark lies: x and y, or a point"))
    again: bool = flag("--again", _("shoot a mark of that name again"))


@on_session(MarkOptions)
def mark(session: Session, options: MarkOptions) -> Reply:
    """Makes a spot a mark, or a point that was read."""
    name, state = options.sight.strip(), session.state
    if "=" in name and session.name_of(name) is None:  # a point's own name may have one in it
        name, typed = assignment(options.sight, session.plan.rod.notation.units)
        draft = session.draft(actions.mark(state, name, typed, options.what, options.at or ""))
    elif options.at is not None:
        raise Refusal(_("A point that is made a mark lies where the plan has it; leave --at out."))
    else:
        draft = session.draft(actions.promote(state, actions.read_surface(state, name), options.what))
    assert isinstance(draft.fact, MarkMade)
    made = draft.fact.mark
    if (asked := actions.mark_question(state, made)) and not options.again:
        raise Refusal(_("{asked} Nothing was recorded; with --again it is taken anew.", asked=asked))
    entry = session.record(draft)
    made = actions.mark_meant(session.state, made) or made
    elevation = session.state.mark(made)
    shown = length_json(elevation.height, session.plan.notation) if elevation else None
    return Reply({"entry": entry.seq, "mark": made, "elevation": shown}, [chain_line(session.state, made)])


@dataclass(frozen=True, kw_only=True, slots=True)
class DatumOptions(Recording):
    name: str | None = named("[DATUM]", None)


@on_session(DatumOptions)
def datum(session: Session, options: DatumOptions) -> Reply:
    """Shows elevations from another zero, or says which there are."""
    datums = session.plan.datums
    if options.name is not None:
        own = options.name.casefold() == "job" and as_known(options.name, datums) is None
        session.record(actions.show_datum(session.state, None if own else options.name))
    state = session.state
    tied = {name: state.zero_of(name) is not None for name in datums}
    lines = [_("Elevations are shown from {datum}.", datum=state.datum or _("the job zero"))]
    lines += [
        _("  {name}: tied", name=name)
        if is_tied
        else _("  {name}: not tied in yet, waits for {mark}", name=name, mark=datums[name].mark)
        for name, is_tied in tied.items()
    ]
    return Reply({"shown": state.datum, "tied": tied}, lines)
