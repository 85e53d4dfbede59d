"""What could be checked and was not: silence is never a pass. Among it is what no code named limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from gradecheck.catalogue import _, plural
from gradecheck.checks.drains import building
from gradecheck.checks.steps import drops, unmarked_ramps
from gradecheck.measure.quantities import Length
from gradecheck.plan.limits import CODES, RULES
from gradecheck.plan.model import Area, Plan


@dataclass(frozen=True, slots=True)
class NotChecked:
    """`check` is the heading it would stand under, `why` it was not made, and `how` it could be.

    Both are words without a full stop: ``no point has a place``, ``give the points “at:”``.
    """

    check: str
    why: str
    how: str


CODES_CHECK = "codes"
"""The heading of what no code named limits."""
ROUTE_CHECK = "accessible route"


def not_limited(plan: Plan, area: Area) -> Iterator[NotChecked]:
    """The checks of the area that wait for a code to be named; one line for all of them together."""
    limits = plan.limits(area)
    asked = [each for each in _could_apply(plan, area) if any(limits.get(name) is None for name in each[1])]
    if asked:
        *others, last = (what for what, _ in asked)
        such = ", ".join(dict.fromkeys(code for _, names in asked for code in _that_limit(names)[:1]))
        what = _("{others} and {last}", others=", ".join(others), last=last) if others else last
        if limits.codes:
            why = plural(
                len(limits.codes),
                "{codes} sets no limit for {what}",
                "{codes} set no limit for {what}",
                codes=", ".join(limits.codes),
                what=what,
            )
        else:
            why = _("no code is named for {what}", what=what)
        how = _("name what the drawings name, such as “codes: [{such}]”, or set it under “rules:”", such=such)
        yield NotChecked(CODES_CHECK, why, how)
    if "us-accessible" in limits.codes and area.use == "walk" and not area.accessible:
        why = _("the plan does not say whether {name} is an accessible route", name=area.name)
        how = _("say “accessible: yes”, or give the area “codes:” of its own without us-accessible")
        yield NotChecked(ROUTE_CHECK, why, how)


def _that_limit(names: Iterable[str]) -> list[str]:
    """The codes that set a limit for one of these at least."""
    return [code for code in CODES if any(code in RULES[name].by for name in names)]


def _could_apply(plan: Plan, area: Area) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What could be asked of an area of its kind, in words, and the limits it takes."""
    flights = [steps for steps in area.steps if steps.kind == "flight"]
    if _near_building(plan, area):
        yield _("the slope near a building"), ("near building", "fall near building at least")
    if area.use == "pool deck" and not (area.drains and area.drains.at_least is not None):
        yield _("the slope of a pool deck"), ("pool deck fall at least", "pool deck fall at most")
    if area.accessible:
        yield _("the slopes of an accessible route"), ("accessible run at most", "accessible cross fall at most")
        if area.build_up is not None or area.steps:
            yield _("its changes in level"), ("level change at most",)
    if flights or area.use == "steps":
        yield _("risers"), ("riser at most", "riser varies at most")
        if any(steps.tread or steps.treads for steps in flights):
            yield _("treads"), ("tread at least", "tread fall at most")
        if any(steps.landings for steps in flights):
            yield "landings", ("landing at least", "landing fall at most")
        yield "handrails", ("handrail from risers",)
    widest = RULES["guard within"].by.values(), RULES["guard above drop"].by.values()
    aside, deep = (max(figure.value for figure in widest[0]), min(figure.value for figure in widest[1]))
    steps = bool(flights) or area.use == "steps"
    if steps or any(drop.height.metres > deep for drop in drops(plan, area, Length(aside))):
        yield "guards", ("guard above drop", "guard within")
    if area.use == "ramp" or any(steps.kind == "ramp" for steps in area.steps) or unmarked_ramps(area):
        yield "ramps", ("ramp at most", "ramp rise at most", "ramp landing at least", "ramp landing fall at most")


def _near_building(plan: Plan, area: Area) -> bool:
    """Whether any point of paving lies as near to a building as the widest code asks."""
    house = building(plan)
    if house is None or area.has_own_rules:
        return False
    widest = max(figure.value for figure in RULES["near building"].by.values())
    own = plan.limits(area).get("near building")
    near = Length(widest if own is None else own.value)
    return any(house.is_near(spot.at, near) for point in area.points if (spot := point.spot) is not None)
