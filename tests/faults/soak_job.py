"""The soak's job and its ground: areas of points by elevation and by pitch, and what a rod truly reads on them."""

from __future__ import annotations

import json
import random
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from tests.faults.by_hand import MARK, STAGES, Job, nearest

AREAS = {"forecourt": "F", "garden walk": "W", "pool deck": "P", "drive": "D", "terrace": "T"}
BENCHMARKS = {"DOOR": "0", "PIN": "-4 3/8", "KERB": "-11 1/16"}


def job_text(points: int) -> str:
    """The job file, with so many points in each area. It is JSON, which is YAML as well."""
    areas = {}
    for number, (area, letter) in enumerate(AREAS.items()):
        named = [f"{letter}{index:03}" for index in range(1, points + 1)]
        areas[area] = {
            "build-up": "ground",
            "points": {name: _said(named, index, by_pitch=number % 2 == 1) for index, name in enumerate(named)},
        }
    job = {
        "job": "Teasel Mead, five areas",
        "units": "in",
        "rods": {"site rod": {"kind": "standard", "graduation": "1/16 in"}},
        "benchmarks": {name: {"elevation": at} for name, at in BENCHMARKS.items()},
        "build-ups": {"ground": [{"paver": "2 3/8"}, {"bedding": "1"}, {"base": "6"}]},
        "tolerances": {"subgrade": "1/2", "base": "3/8", "bedding": "1/4", "finish": "1/8"},
        "rechecks": {"readings": "300", "minutes": "600", "allowed": "1/8 in"},
        "areas": areas,
    }
    return json.dumps(job, indent=1) + "\n"


def _said(named: list[str], index: int, *, by_pitch: bool) -> dict[str, str]:
    """A point's finish: a figure of its own, or pitch times run from the door and on from point to point."""
    if not by_pitch:
        below = Fraction(index * 5 % 160, 8)
        return {"elevation": f"-{printed(below)}" if below else "0"}
    if index % 10 == 0:
        return {"from": "DOOR", "fall": "1.5%", "over": f"{2 + index % 37} ft"}
    return {"from": named[index - 1], "fall": "2%", "over": f"{1 + index % 4} ft"}


def typed(figure: Fraction) -> str:
    """A figure as it is keyed on a keypad: 53-5/16."""
    whole, part = divmod(abs(figure), 1)
    size = f"{whole}-{part}" if whole and part else str(part if part else whole)
    return f"-{size}" if figure < 0 else size


def printed(figure: Fraction) -> str:
    """The same as the screen shows it."""
    return typed(figure).replace("-", " ")


@dataclass
class Ground:
    """What is true: where the instrument's plane lies and every mark; nobody knows it but the rod."""

    job: Job
    draw: random.Random
    plane: Fraction = Fraction(50)
    marks: dict[str, Fraction] = field(default_factory=dict)

    @classmethod
    def of(cls, file: Path, draw: random.Random) -> Ground:
        """The ground of that job."""
        job = Job(file.read_text(encoding="utf-8"))
        return cls(job, draw, marks=dict(job.given))

    def stand(self) -> None:
        """The instrument is stood somewhere else."""
        self.plane = Fraction(self.draw.randint(42 * 16, 60 * 16), 16)

    def new_mark(self, name: str) -> None:
        """A spot somewhere becomes a mark."""
        self.marks[name] = Fraction(self.draw.randint(-10 * 16, 0), 16)

    def rod_on(self, mark: str) -> Fraction:
        """What the rod reads on a mark, to a mark of the rod or the one beside it."""
        return self.plane - self.marks[mark] + Fraction(self.draw.choice((0, 0, 0, 1, -1)), 16)

    def rod_at(self, point: str, stage: str, *, out: bool = False) -> Fraction:
        """What the rod reads at a point, well within what is allowed or, where it is out, beyond."""
        limit = self.job.limits[stage]
        off = limit * Fraction(self.draw.randint(-60, 60), 100)
        if out:
            off = (limit + MARK * self.draw.randint(0, 9)) * self.draw.choice((1, -1))
        return nearest(self.plane - self.job.wanted(point, stage) - off, MARK)


def blocks() -> list[list[tuple[str, str]]]:
    """Five days of four areas' stages each, the lower ones of an area before the upper ones."""
    every = [(area, stage) for stage in STAGES for area in AREAS]
    # Area after area later by a stage, so that each day has several stages.
    order = sorted(every, key=lambda each: STAGES.index(each[1]) * 3 + list(AREAS).index(each[0]) * 2)
    return [order[start : start + 4] for start in range(0, len(order), 4)]
