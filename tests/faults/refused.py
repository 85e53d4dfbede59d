"""What may not come in: characters that nobody sees, in every field of a plan and at every door on site."""

from __future__ import annotations

import contextlib
import random
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.plan.load import PLAN_NAME, understand
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, ready_job
from tests.faults.figures import Figures
from tests.faults.named import HIDDEN, IN_THE_PLAN, NAMES, TYPABLE, Named, drawn, job_text

IN_A_PLAN = (*NAMES, *(name for name in TYPABLE if name not in ("made", "added")), *IN_THE_PLAN)
HALF = "\udcff"
"""Half of a character, as a terminal hands on what is no UTF-8; no journal can keep it."""

Door = Callable[[Session, Named, str], object]

NAMED: dict[str, Door] = {
    "initials": lambda session, named, text: session.identify(text),
    "mark": lambda session, named, text: session.draft(actions.mark(session.state, f"M{text}", "48")),
    "what a mark is": lambda session, named, text: session.draft(actions.mark(session.state, "M1", "48", text)),
    "point": lambda session, named, text: session.draft(
        actions.add_point(session.state, named("area"), f"N{text}", "-3")
    ),
    "what a point is": lambda session, named, text: session.draft(
        actions.add_point(session.state, named("area"), "N1", "-3", text)
    ),
}
"""Doors at which nothing unseen is let in."""
FREE: dict[str, Door] = {
    "note": lambda session, named, text: session.draft(actions.note(text)),
    "struck": lambda session, named, text: session.strike(session.draft(actions.note("x")).id, text),
    "moved": lambda session, named, text: session.draft(actions.moved(session.state, text)),
    "target": lambda session, named, text: session.draft(
        actions.change_target(session.state, named("p1"), "-1 1/8", text)
    ),
    "tolerance": lambda session, named, text: session.draft(
        actions.change_tolerance(session.state, named("area"), "finish", "1/2", text)
    ),
    "given": lambda session, named, text: session.draft(
        actions.give_mark(session.state, named("pin"), "-5", has_moved=True, why=text)
    ),
    "gauged": lambda session, named, text: session.draft(
        actions.gauge(session.state, "lippage", named("area"), text, "1/8")
    ),
    "weather": lambda session, named, text: session.draft(actions.describe_day(text, "two")),
    "crew": lambda session, named, text: session.draft(actions.describe_day("dry", text)),
    "remark": lambda session, named, text: session.draft(
        actions.sign_off(session.state, named("area"), "finish", [named("p1")], text)
    ),
    "figure": lambda session, named, text: session.draft(
        actions.reading(session.state, Surface(named("area"), named("p1"), "finish"), text)
    ),
}
"""Doors at which words are kept as they are, but for what no journal can keep."""


def refusals(harness: str, jobs: int, seed: int) -> Figures:
    """Each field and door with what may not come in there: refused in a sentence, in a plan with its line."""
    counts = Counter(dict.fromkeys(("plans", "doors", "let in", "elsewhere", "unprintable"), 0))
    example = ""
    for job in range(jobs):
        draw = random.Random(f"{seed}/refused/{job}")
        named = drawn(draw).twin.__getitem__
        wrong = [
            _plan(named, name, text) for name in IN_A_PLAN for text in draw.sample(HIDDEN, 1 if jobs == 1 else 3)
        ]
        counts["plans"] += len(wrong)
        doors = _doors(named)
        counts["doors"] += len(doors)
        told = [each for each in (*wrong, *doors) if each]
        counts.update(each.partition(":")[0] for each in told)
        example = example or "".join(f"seed {seed}, job {job}: {each}" for each in told[:1])
    bad = sum(counts[kind] for kind in ("let in", "elsewhere", "unprintable"))
    return Figures(harness, "what may not come in", dict(counts), bad, example=example)


def _plan(named: Named, name: str, hidden: str) -> str:
    """What is wrong with how a plan is refused that has such a text in that field; nothing where all is right."""
    text = job_text(lambda each: named(each) + hidden if each == name else named(each))
    first = next(number for number, line in enumerate(text.splitlines(), 1) if named(name).split()[0] in line)
    try:
        understand(text, PLAN_NAME, str)
    except PlanProblemsError as refused:
        if not all(each.says.isprintable() for each in refused.problems):
            return f"unprintable: {name} with {hidden!r}"
        lines = [each.line for each in refused.problems if "invisible" in each.says or "can't go in" in each.says]
        return "" if first in lines else f"elsewhere: {name} with {hidden!r} told on lines {lines}, it is on {first}"
    return f"let in: {name} with {hidden!r}"


def _doors(named: Named) -> list[str]:
    """For each door and each text that may not come in there what is wrong, nothing where it was refused."""
    tries = [(name, door, text) for name, door in NAMED.items() for text in (*HIDDEN, HALF) if not text.isspace()]
    tries += [(name, door, HALF) for name, door in FREE.items()]
    with tempfile.TemporaryDirectory() as folder:
        session = Session(ready_job(Path(folder) / "court", Clock(), job_text(named)), clock=Clock())
        with contextlib.closing(session):
            session.record(actions.reading(session.state, Surface(named("area"), named("p1"), "finish"), "51"))
            return [f"let in: {name} with {text!r}" if _is_let_in(door, session, named, f"x{text}x") else ""
                    for name, door, text in tries]  # fmt: skip


def _is_let_in(door: Door, session: Session, named: Named, text: str) -> bool:
    try:
        door(session, named, text)
    except Refusal:
        return False
    return True
