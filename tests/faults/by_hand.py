"""A daily report by hand: its numbers worked out from the journal's rows and the job's figures alone.

Nothing of the program is used. It knows as much as the soak's job needs: inches, one standard rod read to 1/16, level
setups on one mark or several.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

INCH, MARK, ALLOWED = Fraction(254, 10_000), Fraction(1, 16), Fraction(1, 8)
STAGES = ("subgrade", "base", "bedding", "finish")
NEVER = 1 << 60
OUT = ("CUT", "FILL")
SELECT = """SELECT seq, id, laptop, "window", "by", kind, area, typed, at, utc_offset, version, plan, replaces, fact,
previous, hash FROM entry ORDER BY seq"""


class Row(NamedTuple):
    """One entry; `day` and `time` are those of the clock on site."""

    seq: int
    id: str
    by: str
    kind: str
    typed: str
    day: str
    time: str
    replaces: str | None
    fact: dict[str, Any]
    hash: str


class Place(NamedTuple):
    """Where something counts: the entry it came with, and the one that stands there now."""

    first: Row
    last: Row


# -- figures


def inches(stored: str) -> Fraction:
    """A length as the journal keeps it, in inches."""
    return Fraction(stored) / INCH


def keyed(text: str) -> Fraction:
    """A length as people write it: ``-3 1/4``."""
    size = sum(map(Fraction, text.removeprefix("-").replace("-", " ").split()), Fraction(0))
    return -size if text.startswith("-") else size


def nearest(value: Fraction, step: Fraction) -> Fraction:
    """To the nearest step, halves away from zero."""
    return step * int(abs(value) / step + Fraction(1, 2)) * (1 if value >= 0 else -1)


def exact(value: Fraction, plus: str = "") -> str:
    """The value with nothing rounded where it is halves to 64ths, else to a ten-thousandth."""
    if 64 % value.denominator:
        value = nearest(value, Fraction(1, 10_000))
    sign = "-" if value < 0 else plus if value > 0 else ""
    whole, part = divmod(abs(value), 1)
    if 64 % value.denominator:
        return f"{sign}{float(abs(value)):.4f}".rstrip("0")
    return sign + (f"{whole} {part}" if whole and part else str(part if part else whole))


def marks(value: Fraction, plus: str = "") -> str:
    """The value at the nearest mark of the rod."""
    return exact(nearest(value, MARK), plus)


def figure(value: Fraction, text: str) -> dict[str, Any]:
    """A length on the sheet."""
    return {"mm": float(value * INCH * 1000), "text": f"{text} in"}


def rounded(off: Fraction, limit: Fraction) -> tuple[str, Fraction]:
    """The word for a difference, and the difference at a mark on that word's side of the limit."""
    highest = limit // MARK * MARK
    if abs(off) <= limit:
        return "ON GRADE", max(min(nearest(off, MARK), highest), -highest)
    size = max(nearest(abs(off), MARK), highest + MARK)
    return ("CUT", size) if off > 0 else ("FILL", -size)


def headline(off: Fraction, limit: Fraction) -> str:
    """What the machine has to do."""
    word, at = rounded(off, limit)
    return f"{word} {exact(abs(at))}" if word in OUT else word


# -- the journal and the job


def rows_of(journal: Path) -> list[Row]:
    """Every entry, its hash and its place worked out anew. Raises ValueError where one is not what was written."""
    found, previous = [], "0" * 64
    # Not read-only: what a killed program left half written is taken back by whoever opens the file next.
    connection = sqlite3.connect(f"file:{journal}?mode=rw", uri=True, timeout=30)
    try:
        for place, row in enumerate(connection.execute(SELECT), 1):
            text = json.dumps(row[:-1], separators=(",", ":"), ensure_ascii=False)
            if (row[0], row[-2], row[-1]) != (place, previous, hashlib.sha256(text.encode()).hexdigest()):
                raise ValueError(f"the chain does not hold at entry {row[0]}")
            previous = row[-1]
            local = datetime.fromisoformat(row[8]) + timedelta(minutes=row[9])
            day, time = local.strftime("%Y-%m-%d"), local.strftime("%H:%M")
            found.append(
                Row(row[0], row[1], row[4], row[5], row[7], day, time, row[12], json.loads(row[13]), row[15])
            )
    finally:
        connection.close()
    return found


class Job:
    """What the job file wants where; finishes by elevation, or by pitch times run from a point or mark before."""

    def __init__(self, text: str) -> None:
        self.digest = hashlib.sha256(text.encode()).hexdigest()
        plan = json.loads(text)
        self.name: str = plan["job"]
        self.given: dict[str, Fraction] = {
            name: keyed(mark["elevation"]) for name, mark in plan["benchmarks"].items()
        }
        self.limits = {stage: keyed(text) for stage, text in plan["tolerances"].items()}
        self.layers = [keyed(size) for layer in plan["build-ups"]["ground"] for size in layer.values()]
        self.finish = dict(self.given)
        self.areas: dict[str, list[str]] = {}
        for name, area in plan["areas"].items():
            self.areas[name] = list(area["points"])
            for point, said in area["points"].items():
                if "elevation" in said:
                    self.finish[point] = keyed(said["elevation"])
                else:
                    percent, feet = Fraction(said["fall"].rstrip(" %")), Fraction(said["over"].split()[0])
                    self.finish[point] = self.finish[said["from"]] - percent / 100 * feet * 12

    def wanted(self, point: str, stage: str) -> Fraction:
        """The finish less the layers above the stage."""
        return self.finish[point] - sum(self.layers[: STAGES[::-1].index(stage)], Fraction(0))


class Book:
    """What counts after those entries, and what follows from it."""

    def __init__(self, job: Job, rows: Sequence[Row]) -> None:
        self.job = job
        home: dict[str, str] = {}
        first: dict[str, Row] = {}
        last: dict[str, Row] = {}
        for row in rows:
            place = home[row.id] = home[row.replaces] if row.replaces else row.id
            first.setdefault(place, row)
            last[place] = row
        self.home, self.first = home, first
        self.kinds: dict[str, list[Place]] = {}
        for place, row in last.items():
            self.kinds.setdefault(row.kind, []).append(Place(first[place], row))
        self.setups = {each.first.id: each for each in self.of("set-up")}
        self.trusted = Counter(reading for each in self.of("doubt") for reading in each.last.fact["readings"])
        self.looks: dict[str, list[Place]] = {}
        for each in self.of("recheck"):
            self.looks.setdefault(each.last.fact["setup"], []).append(each)
        self.plane, self.disturbed = cache(self._plane), cache(self._disturbed)
        self.leans = cache(self._leans)

    def of(self, kind: str, day: str = "") -> list[Place]:
        """What counts of a kind, on that day or ever."""
        return [each for each in self.kinds.get(kind, []) if day in ("", each.first.day)]

    def seen(self, mark: str, before: int) -> Place | None:
        """The sight that a mark made on site was known by."""
        made = [each for each in self.of("mark") if each.last.fact["mark"] == mark and each.first.seq < before]
        return made[-1] if made else None

    def elevation(self, mark: str, before: int = NEVER) -> Fraction:
        """A mark as it was known then."""
        made = self.seen(mark, before)
        return self.sighted(made) if made else self.job.given[mark]

    def sights(self, setup: str) -> list[tuple[str, Fraction]]:
        """The marks a setup stands on, and the rod there."""
        return [(each["mark"], inches(each["rod"])) for each in self.setups[setup].last.fact["backsights"]]

    def planes(self, setup: str) -> list[Fraction]:
        """The plane of the instrument that each of its backsights gives."""
        return [self.elevation(mark, self.setups[setup].first.seq) + rod for mark, rod in self.sights(setup)]

    def _plane(self, setup: str) -> Fraction:
        """Their mean."""
        planes = self.planes(setup)
        return sum(planes, Fraction(0)) / len(planes)

    def sighted(self, place: Place) -> Fraction:
        """The elevation that a sight found."""
        return self.plane(place.last.fact["setup"]) - inches(place.last.fact["rod"])

    def off(self, look: Place) -> Fraction:
        """What a recheck was off by."""
        return self.sighted(look) - self.elevation(look.last.fact["mark"], look.first.seq)

    def _disturbed(self, setup: str) -> Place | None:
        """The first look at a mark that showed that the instrument had been moved."""
        return next((look for look in self.looks.get(setup, []) if abs(self.off(look)) > ALLOWED), None)

    def last_good(self, setup: str, before: int = NEVER) -> int:
        """The place of the last good look, or of the setup itself."""
        looks = [each for each in self.looks.get(setup, []) if each.first.seq < before]
        good = [each.first.seq for each in looks if abs(self.off(each)) <= ALLOWED]
        return max(good, default=self.setups[setup].first.seq)

    def doubted(self, setup: str, seq: int) -> bool:
        """Whether what was seen from there at that place may be wrong."""
        failed = self.disturbed(setup)
        if failed is not None and self.last_good(setup, failed.first.seq) < seq:
            return True
        return self.leans(setup)

    def _leans(self, setup: str) -> bool:
        """Whether a mark that the setup stands on was carried by a sight in doubt."""
        made = (self.seen(mark, self.setups[setup].first.seq) for mark, _ in self.sights(setup))
        return any(self.in_doubt(each) for each in made if each)

    def in_doubt(self, place: Place) -> bool:
        """The same of a reading or a mark that nobody answered for."""
        return not self.trusted[place.first.id] and self.doubted(place.last.fact["setup"], place.first.seq)

    def chain(self, mark: str, before: int) -> list[tuple[str, Fraction, str, Fraction]]:
        """How a mark was carried, by first backsights: base and backsight, end and foresight of each step."""
        made = self.seen(mark, before)
        if made is None:
            return []
        setup = made.last.fact["setup"]
        base, rod = self.sights(setup)[0]
        return [*self.chain(base, self.setups[setup].first.seq), (base, rod, mark, inches(made.last.fact["rod"]))]
