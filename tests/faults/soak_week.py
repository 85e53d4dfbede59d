"""The soak's week: five days of readings, moves, kicks, slips and wrong clocks, drawn from a seed."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path

from tests.faults.by_hand import MARK, Row
from tests.faults.soak_clock import set_clock
from tests.faults.soak_crew import Crew
from tests.faults.soak_job import BENCHMARKS, Ground, blocks, job_text

MONDAY = datetime(2031, 3, 3)  # noqa: DTZ001 - the zone is that of the laptop, and changes
LONGEST_BURST = 40
LONG_WEEK = 1000
"""Readings in a week that is more than a quick look."""
LEFT_RUNNING = {True: (0, 2), False: (0, 2, 3)}
"""The days in whose evening the program is not ended: in a long week, and in a quick one."""
FAR_EAST, FAR_WEST = 10, -8
"""Hours ahead of UTC: where the site is, and where the laptop was before; their mornings are days of other names."""
HAPPENINGS = (
    "struck at once", "struck in the log", "reading put right", "backsight put right", "note", "good look", "kick",
    "kick with a mark", "turning point", "turning point anew", "slip while setting up", "new setup on one mark",
    "kill", "restart", "read again", "clock back", "clock on", "other zone",
)  # fmt: skip


class Week:
    """The crew, its ground, and what happened how often."""

    def __init__(self, folder: Path, readings: int, seed: int) -> None:
        folder.mkdir(parents=True)
        self.draw = random.Random(f"{seed}/{readings}")
        (folder / "job.yaml").write_text(job_text(max(readings // 20, 4)), encoding="utf-8")
        self.ground = Ground.of(folder / "job.yaml", self.draw)
        self.clock = folder.with_suffix(".clock")
        self.crew = Crew(folder, self.ground, self.clock, self.draw)
        self.counts = Counter[str]()
        self.waits: list[list[float]] = []
        """For each day, the seconds from Enter to saved."""
        self.turning: list[str] = []
        self.since_look: list[tuple[str, str, str]] = []
        self._shown = MONDAY.replace(tzinfo=UTC)
        self._is_long = readings > LONG_WEEK
        self._cards = self._deck(often=self._is_long)

    def run(self) -> None:
        """All of it; the program is left ended."""
        for number, day in enumerate(blocks()):
            self._morning(number)
            for area, stage in day:
                self._block(area, stage, last=number == len(blocks()) - 1 and (area, stage) == day[-1])
            self._evening(number)

    # -- days

    def _set(self, shown: datetime) -> None:
        self._shown = shown
        set_clock(self.clock, shown)

    def _morning(self, number: int) -> None:
        crew = self.crew
        local = (MONDAY + timedelta(days=number, hours=8)).replace(tzinfo=timezone(timedelta(hours=FAR_EAST)))
        elsewhere = number % 2 == 0
        self._set(local.astimezone(timezone(timedelta(hours=FAR_WEST))) if elsewhere else local)
        crew.waits = []
        self.waits.append(crew.waits)
        if crew.runs:  # the lid was only closed
            crew.read_cautions()
        else:
            crew.start()
        self._set_up(*self.draw.sample(sorted(BENCHMARKS), 2))
        if elsewhere:  # somebody notices that the laptop shows yesterday
            self._set(local + timedelta(minutes=20))
            self.counts["clock set"] += 1

    def _evening(self, number: int) -> None:
        self._good_look()
        if number not in LEFT_RUNNING[self._is_long]:
            self.crew.write_sheet()
            self.crew.end()
        self._check()

    def _check(self) -> None:
        """The journal holds what was kept: nothing less, nothing more, all in order."""
        pairs = enumerate(zip_longest(self.crew.kept, self.crew.recorded()), 1)
        other = next(((number, *pair) for number, pair in pairs if pair[0] != pair[1]), None)
        assert other is None, f"entry, as keyed, in the journal: {other}"

    # -- work

    def _block(self, area: str, stage: str, *, last: bool) -> None:
        """Every point of an area at a stage, some at a time, and something that happens behind each few."""
        points = self.ground.job.areas[area]
        done = 0
        while done < len(points):
            left = points[done : done + self.draw.randint(5, LONGEST_BURST)]
            card = next(self._cards)
            if card == "kill":
                done += self._killed(area, stage, left)
                continue
            self._read(area, stage, left)
            done += len(left)
            self._happens(card, area, stage, left)
            if self.crew.stands_not():
                self._set_up(*self.draw.sample(sorted(BENCHMARKS), 2))
        if last:
            self._kick(area, stage, points, trust=False)

    def _read(self, area: str, stage: str, points: Sequence[str]) -> None:
        crew = self.crew
        crew.go_to(area, stage, points[0])
        if len(points) > 4 and self.draw.random() < 0.8:
            crew.burst(points)
        else:
            for point in points:
                if crew.at_point() != point:
                    crew.go_to(area, stage, point)
                crew.read(point, self.ground.rod_at(point, stage, out=self.draw.random() < 0.15))
        self.since_look += [(area, stage, point) for point in points]

    def _again(self, area: str, stage: str, point: str) -> None:
        """Reads a point again, never with the figure that may still stand on the screen."""
        rod = self.ground.rod_at(point, stage)
        self.crew.go_to(area, stage, point)
        self.crew.read(point, rod + MARK if self.crew.on(self.crew.answered(point, rod)) else rod)
        self.since_look.append((area, stage, point))

    def _killed(self, area: str, stage: str, points: Sequence[str]) -> int:
        self.crew.go_to(area, stage, points[0])
        kept = self.crew.killed_in_burst(points)
        self.since_look += [(area, stage, point) for point in points[:kept]]
        self.counts["kill"] += 1
        self.crew.start()
        return kept

    # -- what happens

    def _happens(self, what: str, area: str, stage: str, points: Sequence[str]) -> None:
        """One of `HAPPENINGS`, behind the readings at those points."""
        self.counts.update([what] if what in HAPPENINGS else [])
        match what:
            case "struck at once":
                self.crew.strike_last(points[-1])
                self._again(area, stage, points[-1])
            case "struck in the log":
                self._strike_in_log(area, stage)
            case "reading put right":
                self._put_reading_right(area, stage)
            case "backsight put right":
                self._put_backsight_right()
            case "note":
                self.crew.note(f"n{len(self.crew.kept)} dry, wind from the west")
            case "good look":
                self._good_look()
            case "kick" | "kick with a mark":
                self._kick(area, stage, points, mark=what != "kick", trust=self.draw.random() < 0.7)
            case "turning point" | "turning point anew":
                self._turning(anew=what != "turning point")
            case "slip while setting up":
                self._set_up("DOOR", "PIN", slip=True)
            case "new setup on one mark":
                self._set_up("KERB")
            case "restart":
                self._restart()
            case "read again":
                self._again(area, stage, self.draw.choice(points))
            case "clock back" | "clock on":
                self._clock(self.draw.randint(5, 120) * (1 if what == "clock on" else -1))
            case "other zone":
                self._zone()

    def _set_up(self, *marks: str, slip: bool = False) -> None:
        self.crew.set_up(*marks, slip=slip)
        self.since_look = []

    def _good_look(self) -> None:
        if self.crew.recheck(self.draw.choice(sorted(BENCHMARKS))):
            self.since_look = []
        else:
            self._set_up(*self.draw.sample(sorted(BENCHMARKS), 2))

    def _kick(self, area: str, stage: str, points: Sequence[str], *, trust: bool, mark: bool = False) -> None:
        """Somebody knocks the tripod; some points are read and a mark is shot before it is noticed."""
        # By more than slips put right wrong and turning points leave open together, so that it has to be noticed.
        self.ground.plane += Fraction(self.draw.choice((-11, -10, 10, 11, 12)), 16)
        for point in self.draw.sample(points, min(2, len(points))):
            self._again(area, stage, point)
        carried = [self.crew.new_mark()] if mark else []
        good = self.crew.recheck(self.draw.choice(sorted(BENCHMARKS)))
        doubted = list(dict.fromkeys(self.since_look))
        assert not good, "a kick was not noticed"
        self._set_up(*(carried or self.draw.sample(sorted(BENCHMARKS), 1)), *(["DOOR"] * bool(carried)))
        for each in self.draw.sample(doubted, min(2, len(doubted))):
            self._again(*each)
        if trust:
            self.crew.trust(f"taped at the wall {len(self.crew.kept)}")

    def _turning(self, *, anew: bool) -> None:
        name = self.draw.choice(self.turning) if anew and self.turning else ""
        name = self.crew.new_mark(name)
        if name not in self.turning:
            self.turning.append(name)
        self._set_up(name, *self.draw.sample(sorted(BENCHMARKS), self.draw.randint(0, 1)))

    def _find(self, kind: str, about: Callable[[Row], bool]) -> Row | None:
        """One of the last entries that count, of that kind."""
        rows = self.crew.entries()
        replaced = {row.replaces for row in rows}
        near = [row for row in rows[-12:] if row.kind == kind and row.id not in replaced and about(row)]
        return self.draw.choice(near) if near else None

    def _of_block(self, area: str, stage: str) -> Row | None:
        return self._find("reading", lambda row: (row.fact["area"], row.fact["stage"]) == (area, stage))

    def _strike_in_log(self, area: str, stage: str) -> None:
        if row := self._of_block(area, stage):
            self.crew.strike(row.seq, "rod stood on a stone")
            self._again(area, stage, row.fact["point"])

    def _put_reading_right(self, area: str, stage: str) -> None:
        if row := self._of_block(area, stage):
            figure = self.crew.figure_beside(row.typed)
            self.crew.correct(row.seq, figure, row.fact["point"], "reading")

    def _put_backsight_right(self) -> None:
        row = self._find("set-up", lambda _: True)
        if row is None:
            return
        sight = row.fact["backsights"][-1]["mark"]
        keyed = next(text for kind, text, about in reversed(self.crew.kept) if (kind, about) == ("backsight", sight))
        figure = self.crew.figure_beside(keyed.partition("=")[2])
        figure = f"{sight}={figure}" if len(row.fact["backsights"]) > 1 else figure
        self.crew.correct(row.seq, figure, "", "set-up")

    def _restart(self) -> None:
        self.crew.end()
        self._check()
        self.crew.start()

    def _clock(self, minutes: int) -> None:
        """The clock is set, never into another day."""
        start = self._shown.replace(hour=9, minute=0)
        self._set(min(max(self._shown + timedelta(minutes=minutes), start), start.replace(hour=17)))

    def _zone(self) -> None:
        hours = self.draw.choice((8, 9, 9.5, 11))
        self._set(self._shown.replace(hour=12).astimezone(timezone(timedelta(hours=hours))))

    def _deck(self, *, often: bool) -> Iterator[str]:
        """Everything that can happen, in another order each time; in a long week it happens less often."""
        while True:
            cards = [*HAPPENINGS, *(["nothing"] * len(HAPPENINGS) if often else [])]
            self.draw.shuffle(cards)
            yield from cards
