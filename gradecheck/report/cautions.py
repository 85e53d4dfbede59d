"""The usual cautions for this work, in general words; local codes and licensed practice always come first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from gradecheck.catalogue import _, in_english, stored, translated
from gradecheck.plan.model import SUBGRADE, Plan
from gradecheck.report.findings import before_work

WIDE = 76
"""Columns that a caution has on the narrowest screen that is designed for, 80 by 24."""
MOST_ROWS = 18
"""Rows that the general ones have there."""


@dataclass(frozen=True, slots=True)
class Caution:
    """What is said, who published it, and on which kinds of work; on every job where none is named.

    `rank` tells which gives way first where a job has every kind of work and one screen can't hold them all.
    """

    says: str
    source: str
    on: frozenset[str] = frozenset()
    rank: int = 0


def _on(*kinds: str) -> frozenset[str]:
    return frozenset(kinds)


# Sources by section; those that were not held against the published text say so.
GENERAL = (
    Caution(
        stored(
            "Call 811 (Canada: the provincial one-call) before any dig, wait for the marks, dig by hand beside them."
        ),
        _("29 CFR 1926.651(b); state one-call law"),
        _on("dig"),
    ),
    Caution(
        stored(
            "Trench: way out (ladder or ramp) at 4 ft deep, within 25 ft; protection at 5 ft, or shallower where a "
            "competent person sees signs of cave-in; spoil 2 ft back; inspected daily and after rain."
        ),
        "29 CFR 1926.651(c)(2), (j)(2), (k); 1926.652(a)",
        _on("dig"),
    ),
    Caution(
        stored("Do not dig below or against a footing without an engineer."),
        _("29 CFR 1926.651(i), from memory, check"),
        _on("dig"),
    ),
    Caution(
        stored("Stay out of the swing, keep eye contact, never stand under a load or bucket."),
        _("29 CFR 1926.651(e), (f), from memory, check"),
    ),
    Caution(
        stored("Keep rod and machine clear of overhead lines, at least 10 ft up to 50 kV."),
        _("29 CFR 1926.416(a), 1926.1408, from memory, check"),
    ),
    Caution(
        stored(
            "Laser: read the class on its label; trained operators; beam above or below eye height; "
            "never stare into it."
        ),
        _("IEC 60825-1; 29 CFR 1926.54, from memory, check"),
    ),
    Caution(
        stored("Cut stone wet or with a vacuum; respirator as the table says."),
        _("29 CFR 1926.1153, Table 1, from memory, check"),
        _on("paving"),
        rank=1,
    ),
    Caution(
        stored("Manholes, vaults, basins: nobody enters without the permit procedure."),
        _("29 CFR 1926.1201 to 1213, from memory, check"),
        _on("drain"),
    ),
    Caution(
        stored("Pool: slip-resistant finish; barrier closed; electrician bonds it first."),
        _("ANSI A326.3; ISPSC 305; NEC 680.26, from memory, check"),
        _on("pool"),
    ),
    Caution(
        stored("Ramps: slopes, width, landings, rails, edge protection: local code first."),
        _("ADA Standards 2010, 403, 405"),
        _on("ramp"),
    ),
    Caution(
        stored("Handrail, guard: may be required; check the local code."),
        "IRC 2018 R311.7.8, R312.1.1",
        _on("steps", "ramp", "drop"),
    ),
    Caution(
        stored("Walls over 4 ft or loaded, frost, weak soil: licensed engineer and permit."),
        _("IRC R105.2, R403.1.4, R404.4, from memory, check"),
        _on("dig"),
        rank=1,
    ),
    Caution(
        stored("Keep the finish below siding, weep holes and sill."),
        _("IRC R404.1.6, R317.1, from memory, check"),
        _on("house"),
        rank=2,
    ),
    Caution(
        stored("Lift with two or a machine, protect hearing, keep traffic apart."),
        _("NIOSH lifting equation; 29 CFR 1926.52; MUTCD Part 6, from memory, check"),
        rank=3,
    ),
    Caution(
        stored("Boundary and structural elevations are for a licensed surveyor or engineer."),
        _("common practice, no source"),
    ),
    Caution(stored("Local code and the drawings decide."), _("common practice, no source")),
)
"""In the order they are shown."""


def kinds_of_work(plan: Plan) -> set[str]:
    """What kinds of work a job has: dig, paving, drain, pool, ramp, steps, drop, house."""
    found = {"house"} if plan.walls else set()
    for area in plan.areas.values():
        kinds = {steps.kind for steps in area.steps}
        found |= {"dig", "paving"} if area.build_up is not None else set()
        found |= {"drain"} if area.drains and area.drains.into else set()
        found |= {"pool"} if area.use == "pool deck" else set()
        found |= {"ramp"} if area.use == "ramp" or "ramp" in kinds or area.accessible else set()
        found |= {"steps"} if area.use == "steps" or "flight" in kinds else set()
        found |= {"drop"} if area.ground is not None and any(p.finish > area.ground for p in area.points) else set()
    return found


def general(plan: Plan) -> tuple[str, ...]:
    """The general cautions that fit the job, never more than one screen of 80 by 24 holds."""
    kinds = kinds_of_work(plan)
    fitting = [caution for caution in GENERAL if not caution.on or caution.on & kinds]
    while sum(len(wrap(caution.says, WIDE)) for caution in fitting) > MOST_ROWS:
        fitting.remove(max(fitting, key=lambda caution: caution.rank))
    return tuple(caution.says for caution in fitting)


def day_cautions(plan: Plan) -> tuple[str, ...]:
    """What is read and signed at the first look of the day: what the site has of its own, then the general ones."""
    return (*before_work(plan), *map(translated, general(plan)))


def cautions_on_paper(plan: Plan) -> tuple[str, ...]:
    """The same for paper, in English too where people read another language: whoever finds it must understand it."""
    return tuple(dict.fromkeys((*day_cautions(plan), *in_english(day_cautions)(plan))))


def stage_caution(plan: Plan, area: str, stage: str) -> str:
    """One line when work begins at a stage below the finish; empty at the finish."""
    if stage == plan.areas[area].stages[-1]:
        return ""
    if stage == SUBGRADE:
        return _("Before the dig: services marked, trench safe, swing clear. Local code decides.")
    return _("Before the {stage}: edges of the dig safe, swing clear, no dust. Local code decides.", stage=stage)


def caution_lines(plan: Plan) -> Iterator[str]:
    """The day's cautions where no screen shows them: a heading, then each on a line of its own."""
    yield _("Cautions for today; the app has them to be read and signed:")
    yield from (f"  {caution}" for caution in day_cautions(plan))
