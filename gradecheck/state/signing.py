"""What is asked before a stage is signed off, beside its own points: the stages below it, and its checks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from gradecheck.catalogue import in_english, stored
from gradecheck.checks.held import Held, Judgment
from gradecheck.checks.slope import JudgedFalls
from gradecheck.journal.facts import SignedOff
from gradecheck.measure.printed import some
from gradecheck.plan.model import Area
from gradecheck.state.as_built import AreaChecks, check_area
from gradecheck.state.built import exceptions
from gradecheck.state.not_made import SQUARENESS, not_taped
from gradecheck.state.record import RecordedFact
from gradecheck.state.state import Shot, State


def has_changed(state: State, kept: RecordedFact[SignedOff]) -> bool:
    """Whether more is out, unread, in doubt or not to be judged now than was accepted when the stage was signed."""
    if unseen(state, kept):
        return True
    out, unread, doubtful, unjudged = exceptions(state, kept.fact.area, kept.fact.stage)
    accepted = {*kept.fact.accepted, *kept.fact.unread}
    return bool(doubtful or unjudged) or not accepted.issuperset((*out, *unread))


def unseen(state: State, kept: RecordedFact[SignedOff]) -> list[Shot]:
    """The readings of other laptops on that stage which whoever signed it did not know, in order."""
    laptops = state.laptops
    if laptops is None:
        return []
    where = (kept.fact.area, kept.fact.stage)
    shots = (shot for at, shots in state.shots.items() if (at.area, at.stage) == where for shot in shots)
    late = (each for each in shots if not laptops.knew_at(kept.seq, each.seq))
    return sorted(each for each in late if not laptops.along(kept.seq, each.seq))


@in_english
def questions(state: State, area: str, stage: str) -> tuple[str, ...]:
    """What whoever signs is asked, a sentence each without a full stop; to sign is to answer yes to all of them."""
    plan = state.plan.areas[area]
    below = [each for each in plan.stages[: plan.stages.index(stage)] if each not in signed_without(state, area)]
    checks = check_area(state, area, stage)
    return (
        *(says for each in below for says in _below(state, plan, each)),
        *(stored("{check} OUT: {where}", check=check, where=some(where)) for check, where in _out(checks).items()),
        *(
            stored("{check} CAN'T TELL: {where}", check=check, where=some(where))
            for check, where in _uncertain_steps(checks).items()
        ),
        *(
            stored("{check} NOT CHECKED: {why}", check=each.check, why=each.why)
            for each in checks.not_checked
            if each.check != "layers"
        ),
        *(_not_square(state) if stage == plan.stages[-1] else ()),
    )


def _not_square(state: State) -> Iterator[str]:
    """The layout checks of no area alone that prove nothing yet."""
    for layout in state.plan.layout.values():
        if not layout.area and (why := not_taped(state, layout)):
            yield stored("{squareness} NOT CHECKED: {why}", squareness=SQUARENESS, why=why)


def never_read(stage: str) -> str:
    """What is asked of a stage that was covered before anyone read it."""
    return stored("{stage} was not read", stage=stage)


def signed_without(state: State, area: str) -> set[str]:
    """The stages that were not read, and that someone signed a stage above them without."""
    stages = state.plan.areas[area].stages
    signed = (state.record.signed(area, stage) for stage in stages)
    # A new job file may write the stage with other capitals than whoever signed was asked with.
    asked = {says.casefold() for kept in signed if kept is not None for says in kept.fact.asked}
    return {stage for stage in stages if never_read(stage).casefold() in asked and not state.checked(area, stage)}


def _below(state: State, area: Area, stage: str) -> Iterator[str]:
    """What is not as it should be on a stage that is covered; what was accepted there when it was signed is not."""
    if not state.checked(area.name, stage):
        yield never_read(stage)
        return
    signed = state.record.signed(area.name, stage)
    if signed is not None and not has_changed(state, signed):
        return
    out, unread, doubtful, unjudged = exceptions(state, area.name, stage)
    if out:
        yield stored("{stage}: {n} not on grade ({points})", stage=stage, n=len(out), points=some(out))
    if unread:
        yield stored("{stage}: {n} not read ({points})", stage=stage, n=len(unread), points=some(unread))
    if doubtful:
        yield stored("{stage}: {n} in doubt ({points})", stage=stage, n=len(doubtful), points=some(doubtful))
    if unjudged:
        yield stored("{stage}: {n} not judged ({points})", stage=stage, n=len(unjudged), points=some(unjudged))


def _uncertain_steps(checks: AreaChecks) -> dict[str, list[str]]:
    """What of steps and ramps lies beyond a limit by less than the readings leave open: nobody signs that unasked."""
    found: dict[str, list[str]] = defaultdict(list)
    held = [("steps", each) for flight in checks.flights for each in flight.held]
    held += [("ramp", each) for each in checks.ramps] + [("level change", each) for each in checks.level_changes]
    for check, each in held:
        if each.verdict == "can't tell":
            found[check].append(_held_where(each))
    return found


def _held_where(held: Held) -> str:
    """What was held to a limit, and between which points."""
    ends = dict.fromkeys((held.where[0], held.where[-1]))
    return f"{held.what}, {stored(' to ').join(ends)}"


def _out(checks: AreaChecks) -> dict[str, list[str]]:
    """The checks that fail, by the heading they stand under, each with where."""
    found: dict[str, list[str]] = defaultdict(list)

    def note(check: str, where: str, verdict: Judgment) -> None:
        if verdict == "fault":
            found[check].append(where)

    def falls(check: str, judged: JudgedFalls | None) -> None:
        for each in judged.judged if judged else ():
            note(check, stored("{start} to {end}", start=each.fall.start, end=each.fall.end), each.verdict)

    falls("falls", checks.falls)
    falls("running fall", checks.route.running if checks.route else None)
    falls("cross fall", checks.route.cross if checks.route else None)
    if checks.plane is not None:
        note("plane", checks.plane.worst.name, checks.plane.verdict)
    for pond in checks.ponds:
        note("ponding", pond.deepest, pond.verdict)
    for flat in checks.flatness:
        note("flatness", stored("{start} to {end}", start=flat.line[0].name, end=flat.line[-1].name), flat.verdict)
    held = [("steps", each) for flight in checks.flights for each in flight.held]
    held += [("ramp", each) for each in checks.ramps] + [("gauged", each) for each in checks.gauged]
    held += [("level change", each) for each in checks.level_changes]
    for check, each in held:
        note(check, _held_where(each), each.verdict)
    return found
