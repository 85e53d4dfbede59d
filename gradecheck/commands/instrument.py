"""Commands that carry the zero: `setup`, `move`, `recheck`, `mark`, `datum` and `correct`."""

from __future__ import annotations

import argparse

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.instrument import beam_falls, place_named
from gradecheck.commands.shared import (
    assignment,
    length_json,
    length_text,
    open_session,
    print_json,
    printable,
    tell_cautions,
)
from gradecheck.journal.facts import MarkMade, Rechecked
from gradecheck.measure.judged import judged_length, judged_reading
from gradecheck.plan.names import as_known
from gradecheck.report.instrument import agreement_line, chain_line, preview_line, recheck_line, set_up_line


def setup(options: argparse.Namespace) -> int:
    """Stands the instrument on one or more marks; 1 when they disagree by more than is allowed."""
    with open_session(options) as session:
        sights = [assignment(sight, session.plan.rod.notation.units) for sight in options.sights]
        slopes = beam_falls(options.falls, session.plan.notation.units) if options.falls is not None else None
        place = place_named(session.state, options.at) if options.at is not None else None
        tell_cautions(session)
        session.record(actions.set_up_on(session.state, sights, options.rod, slopes, place))
        state = session.state
        stood = state.setup
        made = state.book.recorded(stood.id) if stood else None
        if stood is None or stood.instrument is None or made is None:
            raise Refusal("The setup isn't finished; see the log.")
        told = state.book.agreement(made)
        agreed = told is not None and told.within(state.plan.rechecks.allowed)
        if options.json:
            answer: dict[str, object] = {
                "setup": stood.id,
                "seq": stood.seq,
                "rod": stood.fact.rod,
                "plane": length_json(stood.instrument.zero.height, state.plan.notation),
                "agree": agreed,
            }
            if told is not None:
                answer["from"] = {mark: length_json(zero.height, state.plan.notation) for mark, zero in told.zeros}
                spread = judged_length(told.spread, state.plan.rechecks.allowed, state.plan.notation, passes=agreed)
                answer["spread"] = length_text(told.spread, spread.found)
            print_json(options, answer)
        else:
            print(printable(set_up_line(state, stood)))
            print(printable(agreement_line(state, made)))
        return 0 if agreed else 1


def move(options: argparse.Namespace) -> int:
    """Says that the instrument no longer stands where it stood."""
    with open_session(options) as session:
        entry = session.record(actions.moved(session.state, options.why))
        if options.json:
            print_json(options, {"entry": entry.seq, "why": options.why})
        else:
            print("The laser was moved; no readings until it is set up again.")
    return 0


def recheck(options: argparse.Namespace) -> int:
    """Another look at a mark; 1 when it is off by more than is allowed."""
    with open_session(options) as session:
        mark, typed = assignment(options.sight, session.plan.rod.notation.units)
        entry = session.record(actions.recheck(session.state, mark, typed))
        fact = entry.fact
        assert isinstance(fact, Rechecked)
        if options.json:
            allowed, notation = session.plan.rechecks.allowed, session.plan.notation
            off = length_text(fact.off, judged_reading(fact.off, allowed, notation).found)
            doubts = [surface._asdict() for surface, _ in session.state.doubts()]
            print_json(
                options, {"entry": entry.seq, "mark": fact.mark, "off": off, "good": fact.good, "in doubt": doubts}
            )
        else:
            print(printable(recheck_line(session.state, entry, fact)))
        return 0 if fact.good else 1


def mark(options: argparse.Namespace) -> int:
    """Makes a spot a mark, or a point that was read."""
    with open_session(options) as session:
        name = options.sight.strip()
        if "=" in name and session.name_of(name) is None:  # a point's own name may have one in it
            name, typed = assignment(options.sight, session.plan.rod.notation.units)
            draft = actions.mark(session.state, name, typed, options.what)
        else:
            draft = actions.promote(session.state, actions.read_surface(session.state, name), options.what)
        assert isinstance(draft.fact, MarkMade)
        if (asked := actions.mark_question(session.state, draft.fact.mark)) and not options.again:
            raise Refusal(f"{asked} Nothing was recorded; with --again it is taken anew.")
        entry = session.record(draft)
        made = getattr(entry.fact, "mark", name)
        elevation = session.state.mark(made)
        if options.json:
            shown = length_json(elevation.height, session.plan.notation) if elevation else None
            print_json(options, {"entry": entry.seq, "mark": made, "elevation": shown})
        else:
            print(printable(chain_line(session.state, made)))
    return 0


def datum(options: argparse.Namespace) -> int:
    """Shows elevations from another zero, or says which there are."""
    with open_session(options) as session:
        state = session.state
        if options.name is not None:
            own = options.name.casefold() == "job" and as_known(options.name, session.plan.datums) is None
            chosen = None if own else options.name
            session.record(actions.show_datum(session.state, chosen))
        tied = {name: state.zero_of(name) is not None for name in session.plan.datums}
        if options.json:
            print_json(options, {"shown": state.datum, "tied": tied})
            return 0
        print(f"Elevations are shown from {printable(state.datum or 'the job zero')}.")
        for name, is_tied in tied.items():
            given = session.plan.datums[name]
            words = "tied" if is_tied else f"tied in yet, waits for {given.mark}"
            print(printable(f"  {name}: {words}"))
    return 0


def correct(options: argparse.Namespace) -> int:
    """Puts a figure right in its own place, or a mark's elevation; `--dry` only says what would change."""
    with open_session(options) as session:
        beside = []
        if options.mark is not None:
            name, typed = assignment(options.mark, session.plan.rod.notation.units)
            draft = actions.give_mark(session.state, name, typed, has_moved=options.moved, why=options.why or "")
        elif options.entry is not None and options.reading is not None:
            entry = session.entry(options.entry)
            draft = session.correct(entry.id, options.reading)
            if options.why is not None:
                beside = [actions.why_corrected(entry, options.why)]
        else:
            raise Refusal("Say what to correct: ENTRY READING, or --mark NAME=ELEVATION with --why.")
        told = session.preview(draft)
        if not options.dry:
            session.record(draft, *beside)
        if options.json:
            print_json(
                options,
                {
                    "recorded": not options.dry,
                    "points moved": told.moved,
                    "largest": length_json(told.largest, session.plan.notation),
                    "verdicts changed": [surface._asdict() for surface in told.changed],
                },
            )
        else:
            print(printable(preview_line(session.state, told)))
    return 0
