"""Commands on the plan as it stands on site: `plan`, `add` and `change`."""

from __future__ import annotations

import argparse

from gradecheck import actions
from gradecheck.commands.shared import assignment, length_json, open_session, print_json, printable
from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.report.plan_changes import amendment_line, change_lines, plan_text, summary
from gradecheck.session.session import Session


def changes(options: argparse.Namespace) -> int:
    """What the job file would change, and what was changed on site; 1 while the job file waits to be taken over."""
    with open_session(options) as session:
        if options.as_text:
            text = plan_text(session.state.amendments, session.plan)
            if options.json:
                print_json(options, {"as text": text})
            else:
                print(printable(text), end="")
            return 0
        waiting = session.offered_changes
        if options.accept:
            session.record(session.accept_plan())
        if options.json:
            print_json(options, _json(session, options.accept))
        else:
            print(printable("\n".join(_lines(session, taken=options.accept))))
        return 0 if options.accept or waiting is None else 1


def _lines(session: Session, *, taken: bool) -> list[str]:
    notation, offered = session.plan.notation, session.offered_changes
    lines = [
        "The plan in the job file is the current plan now."
        if taken
        else "The plan in the job file is the current plan."
    ]
    if offered is not None:
        lines = [f"The job file has changed: {summary(offered, notation)}. It is not accepted yet."]
        lines += [f"  {line}" for line in change_lines(offered, notation)]
    amendments = session.state.amendments
    if amendments:
        lines += ["Changed on site:", *(f"  {amendment_line(fact, notation, session.state)}" for fact in amendments)]
    return lines


def _json(session: Session, taken: bool) -> dict[str, object]:
    notation, offered = session.plan.notation, session.offered_changes
    return {
        "accepted": taken,
        "digest": session.digest,
        "moved": [
            {"area": each.area, "point": each.point, "stage": each.stage, "by": length_json(each.by, notation)}
            for each in (offered.moved if offered else ())
        ],
        "added": list(offered.added) if offered else [],
        "gone": list(offered.gone) if offered else [],
        "tolerances": [{"area": area, "stage": stage} for area, stage in (offered.tolerances if offered else ())],
        "stages": [{"area": area, "stage": stage} for area, stage in (offered.stages if offered else ())],
        "marks": list(offered.marks) if offered else [],
        "lost": list(offered.lost) if offered else [],
        "staying": list(offered.staying) if offered else [],
        "settings": [
            {"what": each.what, "from": each.was, "to": each.now} for each in (offered.others if offered else ())
        ],
        "on site": [amendment_line(fact, notation, session.state) for fact in session.state.amendments],
    }


def add(options: argparse.Namespace) -> int:
    """Adds a point to an area of the plan in force."""
    with open_session(options) as session:
        fact = session.record(
            actions.add_point(session.state, options.area, options.name, " ".join(options.how), options.what)
        ).fact
        assert isinstance(fact, PointAdded)
        finish = length_json(fact.finish.height, session.plan.notation)
        if options.json:
            print_json(options, {"area": fact.area, "point": fact.point, "finish": finish, "working": fact.working})
        else:
            print(printable(f"{fact.point} added to {fact.area}: {fact.working}"))
    return 0


def change(options: argparse.Namespace) -> int:
    """Changes a point's finish, or with --stage an area's tolerance."""
    with open_session(options) as session:
        name, typed = assignment(options.what, session.plan.rod.notation.units)
        if options.stage is not None:
            draft = actions.change_tolerance(session.state, name, options.stage, typed, options.why)
        else:
            draft = actions.change_target(session.state, name, typed, options.why)
        fact = session.record(draft).fact
        assert isinstance(fact, TargetChanged | ToleranceChanged)
        said = amendment_line(fact, session.plan.notation, session.state)
        if options.json:
            kind = "target" if isinstance(fact, TargetChanged) else "tolerance"
            print_json(options, {"kind": kind, "says": said})
        else:
            print(printable(said))
    return 0
