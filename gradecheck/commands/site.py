"""Commands of the day on site: `setup`, `read` and `void`."""

from __future__ import annotations

import argparse

from gradecheck.commands.shared import assignment, length_json, open_session, print_json, printable
from gradecheck.intake import Refusal
from gradecheck.journal.facts import Entry
from gradecheck.plan.problems import suggestion
from gradecheck.report.instrument import set_up_line
from gradecheck.report.rows import answer
from gradecheck.session import Session
from gradecheck.state import Surface


def setup(options: argparse.Namespace) -> int:
    """Stands the instrument on a mark."""
    mark, typed = assignment(options.sight)
    with open_session(options) as session:
        session.record(session.set_up(mark, typed, options.rod))
        stood = session.state.setup
        assert stood is not None
        if options.json:
            zero = stood.instrument.zero if stood.instrument else None
            plane = length_json(zero.height, session.plan.notation) if zero else None
            print_json({"set-up": stood.id, "seq": stood.seq, "rod": stood.fact.rod, "plane": plane})
        else:
            print(printable(set_up_line(session.state, stood)))
    return 0


def read(options: argparse.Namespace) -> int:
    """Records readings and answers each; one that is not understood keeps all from being written."""
    with open_session(options) as session:
        drafts = []
        for sight in options.sights:
            name, typed = assignment(sight)
            surface = _surface(session, name, options.stage)
            drafts.append((surface, session.reading(surface, typed)))
        told = [(surface, session.record(draft)) for surface, draft in drafts]
        answers = [_reading_json(session, surface, entry) for surface, entry in told]
        if options.json:
            print_json(answers)
            return 0
        for surface, _ in told:
            said = answer(session.state, surface)
            assert said is not None
            print(f"{surface.point:<8} {surface.stage:<9} {said.headline:<16} found {said.found}, rod {said.rod}")
    return 0


def _surface(session: Session, name: str, stage: str | None) -> Surface:
    """The surface meant; without a stage, the finish."""
    point = session.name_of(name)
    area = session.plan.area_of.get(point) if point else None
    if point is None or area is None:
        raise Refusal(f"There is no point “{name}”.{suggestion(name, session.plan.area_of)}")
    return Surface(area, point, stage or session.plan.areas[area].stages[-1])


def _reading_json(session: Session, surface: Surface, entry: Entry) -> dict[str, object]:
    verdict = session.state.verdict(surface)
    assert verdict is not None
    return {
        "entry": entry.seq,
        "id": entry.id,
        **surface._asdict(),
        "verdict": verdict.word.value,
        "difference": length_json(verdict.difference, session.plan.notation),
    }


def void(options: argparse.Namespace) -> int:
    """Strikes an entry, with a reason."""
    with open_session(options) as session:
        struck = session.entry(options.entry)
        entry = session.record(session.strike(struck.id, options.why))
    if options.json:
        print_json({"entry": entry.seq, "strikes": struck.seq, "why": options.why})
    else:
        print(f"Entry {struck.seq} is struck; it stays in the log with the reason.")
    return 0
