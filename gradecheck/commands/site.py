"""Commands of the day on site: `read`, `strike` and `undo`."""

from __future__ import annotations

import argparse

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.checks.blunders import KEEPS
from gradecheck.commands.shared import (
    assignment,
    length_json,
    length_text,
    open_session,
    print_json,
    printable,
    tell_cautions,
)
from gradecheck.journal.facts import Entry, Reading, Void
from gradecheck.measure.printed import show
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.names import as_known
from gradecheck.plan.problems import suggestion
from gradecheck.report.log import undo_line
from gradecheck.report.rows import answer
from gradecheck.session.session import Session
from gradecheck.state.state import Surface


def read(options: argparse.Namespace) -> int:
    """Records readings and answers each; one that is not understood keeps all from being written."""
    with open_session(options) as session:
        drafts = []
        for sight in options.sights:
            name, typed = assignment(sight, session.plan.rod.notation.units)
            surface = _surface(session, name, options.stage)
            looks = session.question(surface, typed)
            drafts.append(actions.reading(session.state, surface, typed, looks.says if looks else ""))
        tell_cautions(session, [draft.fact for draft in drafts])
        answers: list[dict[str, object]] = []
        lines: list[str] = []
        # Written together, all or none; taken over one by one, because a point may be read twice.
        for entry in session.write(*drafts):
            session.adopt([entry])
            if isinstance(entry.fact, Reading):
                surface = Surface(entry.fact.area, entry.fact.point, entry.fact.stage)
                answers.append(_reading_json(session, surface, entry))
                lines += _reading_lines(session, surface, entry)
        if options.json:
            print_json(options, answers)
        else:
            print(printable("\n".join(lines)))
    return 0


def _reading_lines(session: Session, surface: Surface, entry: Entry) -> list[str]:
    said = answer(session.state, surface)
    assert said is not None
    told = f"{surface.point:<8} {surface.stage:<9} {said.headline:<16} found {said.found}, rod {said.rod}"
    question = _question(entry)
    return [told, f"         kept, but: {question}"] if question else [told]


def _surface(session: Session, name: str, stage: str | None) -> Surface:
    """The surface meant; without a stage, the finish."""
    point = session.name_of(name)
    area = session.plan.area_of.get(point) if point else None
    if point is None or area is None:
        raise Refusal(f"There is no point “{name}”.{suggestion(name, session.plan.area_of)}")
    home = session.plan.areas[area]
    return Surface(area, point, home.stages[-1] if stage is None else as_known(stage, home.stages) or stage)


def _reading_json(session: Session, surface: Surface, entry: Entry) -> dict[str, object]:
    verdict, shot = session.state.verdict(surface), session.state.latest(surface)
    assert verdict is not None
    assert shot is not None
    sure, notation = session.state.uncertainty(shot.setup, shot.rod, surface), session.plan.notation
    return {
        "entry": entry.seq,
        "id": entry.id,
        **surface._asdict(),
        "verdict": verdict.word.value,
        "difference": None
        if verdict.word is Word.EXAMPLE
        else length_text(verdict.difference, show(verdict.rounded(notation.graduation), notation, unit=True)),
        "uncertainty": length_json(sure, notation) if sure is not None else None,
        "question": _question(entry),
    }


def _question(entry: Entry) -> str:
    return entry.fact.question.removesuffix(f" {KEEPS}") if isinstance(entry.fact, Reading) else ""


def strike(options: argparse.Namespace) -> int:
    """Strikes an entry, with a reason."""
    with open_session(options) as session:
        struck = session.entry(options.entry)
        entry = session.record(session.strike(struck.id, options.why))
    if options.json:
        print_json(options, {"entry": entry.seq, "strikes": struck.seq, "why": options.why})
    else:
        print(f"Entry {struck.seq} is struck; it stays in the log with the reason.")
    return 0


def undo(options: argparse.Namespace) -> int:
    """Takes back the person's own last reading, correction of one, or strike."""
    with open_session(options) as session:
        action = session.undo()
        first, last = session.place_of(action.replaces or "")
        entry = session.record(action)
    if options.json:
        print_json(options, {"entry": entry.seq, "undoes": first.seq, "counts": not isinstance(entry.fact, Void)})
    else:
        print(printable(undo_line(entry, first, last)))
    return 0
