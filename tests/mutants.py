"""What the tests would not notice: single changes of the code, one at a time, each of which some test must catch.

`python -m tests.mutants` applies each change to a private copy of the tree, runs the tests that mirror the file and
then `published`, and prints what survives, with a count. `--only TEXT` takes those whose file or texts hold that
text, `--part 2/5` every fifth, `--sample 20` that many, drawn from a seed. It takes hours in full.
"""

from __future__ import annotations

import argparse
import ast
import functools
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

TREE = Path(__file__).resolve().parents[1]
PACKAGE = "gradecheck"
LONGEST = 1200
"""Seconds that the tests of one folder may take; a change that makes them hang is noticed."""

ELSEWHERE = {"tests/actions": ["tests/actions", "tests/session"], "tests/files": ["tests/files", "tests/cli"]}
"""Where the other tests of a room lie that has few of its own: with those who use it."""

AT_THE_TOP = {"places.py": "journal"}
"""Where the tests lie of a file that is in no room; those of the others are with the commands."""

FIRST = {
    "places.py": "tests/journal/test_disk.py",
    "journal/recovery/backup.py": "tests/journal/test_disk.py",
    "journal/schema.py": "tests/journal/test_guards.py",
    "journal/recovery/copying.py": "tests/journal/test_disk.py",
    "journal/file.py": "tests/journal/test_disk.py",
    "journal/recovery/remains.py": "tests/journal/recovery/test_rescue.py",
    "journal/seen.py": "tests/journal/test_replaced.py",
    "actions/entered.py": "tests/actions/test_entered.py",
    "session/clock_watch.py": "tests/session/test_session.py",
    "measure/quantities.py": "tests/measure/test_units.py",
    "plan/limits.py": "tests/published/test_citations.py",
    "plan/texts.py": "tests/plan/test_faults.py",
    "plan/asked_climbs.py": "tests/plan/test_asked.py",
    "plan/asked_paved.py": "tests/plan/test_asked.py",
    "plan/asked_build.py": "tests/plan/test_asked.py",
    "plan/stone.py": "tests/checks/test_dig_stone.py",
    "plan/closure.py": "tests/published/test_circuits.py",
    "survey/uncertainty.py": "tests/published/test_uncertainty.py",
    "checks/drains.py": "tests/findings/test_limits.py",
    "findings/layers.py": "tests/findings/test_limits.py",
    "findings/sense.py": "tests/findings/test_limits.py",
    "state/record.py": "tests/state/test_built.py",
    "cli/records.py": "tests/cli/test_rescue.py",
    "cli/instrument.py": "tests/cli/test_zero.py",
    "cli/circuits.py": "tests/cli/test_zero.py",
    "cli/built.py": "tests/cli/test_cli.py",
    "cli/run.py": "tests/cli/test_cli.py",
}
"""Tests that speak of a file and are not named after it; they are tried first, which only saves time."""

Fate = Literal["caught", "hung", "survived"]

# For each file the texts that are changed, and what into. A text occurs once in its file.
CHANGES: dict[str, tuple[tuple[str, str], ...]] = {
    # -- measure: exact lengths, how they are typed and printed
    "measure/typed.py": (
        ("if len(typed) > LONGEST:", "if len(typed) >= LONGEST:"),
        ("if inches >= 12:", "if inches > 12:"),
        ("if int(num) >= int(den):", "if int(num) > int(den):"),
        ("if comma and len(part) == 3:", "if comma and len(part) == 4:"),
        ("Length(-metres if negative else metres)", "Length(metres)"),
        ('size.startswith("-")', 'size.startswith("+")'),
    ),
    "measure/printed.py": (
        ("(2 * count.numerator + count.denominator)", "(2 * count.numerator + count.denominator - 1)"),
        ("(whole if length.metres >= 0 else -whole)", "whole"),
        ('"-" if length < ZERO else', '"-" if length < -units.one else'),
        ("<= 64 and", "<= 32 and"),
        ("Fraction(1, 10_000))", "Fraction(1, 100))"),
        ("for places in range(4)", "for places in range(3)"),
    ),
    "measure/quantities.py": (
        ("FOOT = 12 * INCH", "FOOT = 1200 * metres(1).metres / 3937"),
        ("Elevation(self.metres - drop.metres)", "Elevation(self.metres + drop.metres)"),
        ("return self.ratio * 100", "return self.ratio * 1000"),
        ("Fraction(number) / 1000)", "Fraction(number) / 100)"),
    ),
    "measure/units.py": (
        ("ton = 2000 * pound", "ton = 2240 * pound"),
        ("inch = 254 / 10000 * metre", "inch = 25 / 1000 * metre"),
        ("return Slope(number / 100)", "return Slope(number / 1000)"),
        ("if abs(number) >= 60:", "if abs(number) > 60:"),
        ('-size if found[1] == "-" else size', "size"),
    ),
    # -- ground
    "ground/volumes.py": (
        ("return Apart(above, above - net)", "return Apart(above, net)"),
        ("/ (2 if one and other else 3)", "/ 2"),
        ("between(one.fill, other.fill,", "between(one.fill, other.cut,"),
        ("return Apart(net + below, below)", "return Apart(net, below)"),
    ),
    "ground/outline.py": (
        ("around.where(x, y) >= 0 and", "around.where(x, y) > 0 and"),
        ("hole.where(x, y) <= 0 for", "hole.where(x, y) < 0 for"),
        ("if (y1 > y) != (y2 > y)", "if (y1 >= y) != (y2 > y)"),
    ),
    "ground/planes.py": (
        ("self.falls.x.over(place[0] - self.at[0]) +", "self.falls.x.over(place[0] - self.at[0]) -"),
        ("(bz * cy - cz * by) / twice", "(bz * cy + cz * by) / twice"),
        (
            "Elevation(ratio(sum(zs), up * count)), FallXY(Slope(-rise_x), Slope(-rise_y))",
            "Elevation(ratio(sum(zs), up * count)), FallXY(Slope(-rise_y), Slope(-rise_x))",
        ),
    ),
    "ground/surfaces.py": (
        ('max(heights) if self.kind == "valley" else min(heights)', "min(heights)"),
        ("left = 1 if side > 0 else -1", "left = -1 if side > 0 else 1"),
    ),
    "ground/triangles.py": (
        ("yield (a, b, c) if side > 0 else (a, c, b)", "yield (a, b, c)"),
        ("return abs(turn(a, b, c)) / 2", "return turn(a, b, c) / 2"),
    ),
    # -- plan: targets, limits and their sources, flights, what changed
    "plan/limits.py": (
        ('self.given[name], "the plan")', 'self.given[name], "the office")'),
        ("self.metric if metric and self.metric is not None else self.value", "self.value"),
        ("max(values) if rule.least else min(values)", "values[0]"),
        ("zip(figures, values, strict=True) if value == strictest)", "zip(figures, values, strict=True))"),
        ('"paving institute bulletin PAV-TEC-002-22"', "_TOLERANCES"),
        ('_access("1:12", "405.2")', '_access("1:12", "403.3")'),
        ('_house("10 ft", "R401.3", 3048)', '_house("10 ft", "R311.7", 3048)'),
        ('"29 CFR 1926.651(c)(2)"', '"29 CFR 1926.652(a)"'),
        ('_building("11 in", "1011.5.2", 279)', '_building("11 in", "1011.5.4", 279)'),
        ('_house("7 3/4 in",', '_house("7 1/2 in",'),
        ('_maryland("1:24",', '_maryland("1:20",'),
        ('_anywhere("1/8 in", _TOLERANCES, 3)', '_anywhere("1/8 in", _DRAIN, 3)'),
        ('_anywhere("2 mm", "common practice, no source")', '_anywhere("2 mm", _TOLERANCES)'),
        ('f"IRC {edition} {section}"', 'f"IBC {edition} {section}"'),
    ),
    "plan/targets.py": (
        ("if stage != FINISH and build_up:", "if build_up:"),
        ('way=_("high") if off > ZERO', 'way=_("high") if off < ZERO'),
        ("if run.metres * fall.ratio > 0", "if run.metres * fall.ratio < 0"),
    ),
    "plan/changes.py": (
        ("key=lambda each: abs(each.by)", "key=lambda each: each.by"),
        ("if by != ZERO:", "if by > ZERO:"),
        ("before.tolerances[stage] != area.tolerances[stage]", "before.tolerances[stage] is not None"),
        ("old.rods[name].kind != rod.kind", "old.rods[name].kind is None"),
    ),
    "plan/closure.py": (
        ("circuit.misclosure.metres**2 <= rule", "circuit.misclosure.metres**2 < rule"),
        ("if length <= ZERO:", "if length < ZERO:"),
    ),
    "plan/flights.py": (
        ("after_landing = number > 1 and number - 1 in", "after_landing = number > 1 and number in"),
        ('(entry.fall, -1, "−")', '(entry.fall, 1, "−")'),
    ),
    "plan/surfaces.py": (("found += line if number % 2 else reversed(line)", "found += line"),),
    "plan/names.py": (("if len(name) > LONGEST_NAME:", "if len(name) >= LONGEST_NAME:"),),
    "plan/stone.py": (("if self.compaction < 1:", "if self.compaction <= 1:"),),
    "plan/texts.py": (
        (
            "if slope < NO_SLOPE:\n        raise refused(_NO_MINUS)",
            "if slope <= NO_SLOPE:\n        raise refused(_NO_MINUS)",
        ),
        ("if len(text) > LONGEST_TEXT:", "if len(text) >= LONGEST_TEXT:"),
    ),
    "plan/geojson.py": (
        ("if len(ring) < 4:", "if len(ring) < 3:"),
        ("if elevation is not None and third is not None and elevation != third:", "if elevation is third is None:"),
    ),
    # what is asked for a new plan, and how a plan is edited in its own text
    "plan/asked.py": (("usual = max(build.usual(stage), least)", "usual = build.usual(stage)"),),
    "plan/asked_climbs.py": (("Length(tread.metres * (count - 1))", "Length(tread.metres * count)"),),
    "plan/asked_paved.py": (
        ("along.metres - near, far - along.metres)", "along.metres - near)"),
        ("min(before[0], *ends), max(before[1], *ends)", "min(ends), max(ends)"),
    ),
    "plan/asked_build.py": (("if abs(cosine) >= 1:", "if abs(cosine) > 2:"),),
    "plan/edits.py": (
        ('if part.style in ("|", ">"):', 'if part.style in (">",):'),
        ("if value[: len(old)] == old:", "if False:"),
        ("if len(gone) == len(names) and names and not new:", "if False:"),
    ),
    "plan/editing.py": (
        ("if self.draft != before:", "if True:"),
        ("may_go = len(path) > 3 or", "may_go = len(path) > 2 or"),
        ("if key is not None and key not in found:", "if key is not None:"),
        ("self.opened, self.draft, self._made = opened, draft, made", "self.draft, self._made = draft, made"),
    ),
    # -- survey: setups, uncertainty, doubt, circuits
    "survey/setup.py": (
        (
            'return zero + reading if self.rod.kind == "direct"',
            'return zero.minus(reading) if self.rod.kind == "direct"',
        ),
        (
            "zero_from(rod, sight, slopes, origin)) for sight in sights",
            "zero_from(rod, sight, slopes, origin)) for sight in sights[:1]",
        ),
        ("return self.spread <= allowed", "return self.spread < allowed"),
        ("sorted((abs(zero.metres - mean.metres), name)", "sorted((zero.metres - mean.metres, name)"),
        ("self.x.over(at[0] - self.origin[0]) + self.y", "self.x.over(at[0] - self.origin[0]) - self.y"),
    ),
    "survey/uncertainty.py": (
        ("float(rod.notation.graduation.metres) / 2 / sqrt(3)", "float(rod.notation.graduation.metres) / sqrt(3)"),
        (
            "Fraction(-int(-COVERAGE * standard * _FINENESS // 1), _FINENESS)",
            "Fraction(int(COVERAGE * standard * _FINENESS // 1), _FINENESS)",
        ),
        (
            "hypot(self.graduation, self.receiver, self.beam, self.plumb)",
            "hypot(self.graduation, self.receiver, self.beam)",
        ),
        ("weight /= len(here.sights)", "weight /= 1"),
        ("total += weight**2 * self._sight_variance(instrument, base, here.rod, here.at)", "total += 0.0"),
        ("get((parent.seq, parent.id), 0.0) + weight", "get((parent.seq, parent.id), weight)"),
        ("return 0.0 if source is not None else None", "return None"),
    ),
    "survey/doubt.py": (
        ("abs(off) <= self._allowed", "abs(off) < self._allowed"),
        ("good = recorded.seq if recorded else 0", "good = 0"),
        ("seen.seen_at <= good", "seen.seen_at > good"),
        ("self.last_good(setup, failed.seq, asked_at) < seq", "failed.seq < seq"),
        ("abs(moved) <= self._allowed) if closed", "abs(moved) >= self._allowed) if closed"),
    ),
    "survey/level_book.py": (
        ("level - self.fall", "level + self.fall"),
        ("        known += [", "        known = ["),
        ("order[self._done].seq <= wanted.seq", "order[self._done].seq < wanted.seq"),
    ),
    "survey/circuit.py": (
        ("if self.setups < 1:", "if self.setups < 0:"),
        ("self.backsights - self.foresights == self.carried", "True"),
    ),
    "survey/instrument_tests.py": (
        ("abs(ahead + back - right - left) * Fraction(1, 2)", "abs(ahead + back - right - left)"),
        ("if size <= limit:", "if size < limit:"),
        ("max(abs(ahead - back), abs(right - left))", "max(ahead - back, right - left)"),
    ),
    "survey/network.py": (
        ("return self.statistic <= self.limit", "return self.statistic >= self.limit"),
        ("redundancy = 1 - own if", "redundancy = own if"),
    ),
    # -- checks: the verdict, slips, falls, steps, flatness
    "checks/verdict.py": (
        ("if difference > tolerance.high:", "if difference >= tolerance.high:"),
        ("elif difference < -tolerance.low:", "elif difference <= -tolerance.low:"),
        ("difference >= tolerance.high + guard", "difference > tolerance.high + guard"),
        ("difference <= -tolerance.low - guard", "difference < -tolerance.low - guard"),
        ("-tolerance.low + guard <= difference <=", "-tolerance.low + guard < difference <="),
        ("            return marks\n", "            return min(max(marks, lowest), highest)\n"),
        ("return max(marks, highest + graduation)", "return marks"),
        ("difference = found.above(wanted)", "difference = wanted.above(found)"),
    ),
    "checks/blunders.py": (
        ("if keyed <= _LIKELIER:", "if keyed <= _LIKELIER * 4:"),
        (
            'return wanted_reading - figure if kind == "standard"',
            'return figure - wanted_reading if kind == "standard"',
        ),
        ("mark.metres**2 / 12", "mark.metres**2 / 3"),
        ("cut >= tolerance.high + half or", "cut > tolerance.high + half or"),
    ),
    "checks/steps.py": (
        ("sign = -1 if end < began else 1", "sign = -1 if end < at else 1"),
        ("over(value, limit.value, left, worse)", "over(value, limit.value, NOTHING, worse)"),
        ("under(value, limit.value, left)", "under(value, limit.value)"),
        ("count >= rail.count", "count > rail.count"),
        ('limits.get("guard above drop"), worse="reminder")', 'limits.get("guard above drop"))'),
        ("GENTLEST < slope <= STEEPEST", "GENTLEST <= slope <= STEEPEST"),
    ),
    "checks/ways.py": (("return -along <= BENT * across <= along", "return -along < BENT * across < along"),),
    "checks/held.py": (
        ("return abs(self.value - self.limit.value)", "return self.value - self.limit.value"),
        ("if value <= most:", "if value < most:"),
        ("if value - doubt > most", "if value - doubt >= most"),
        ("over(-value, -least, doubt, worse)", "over(-value, -least, doubt)"),
    ),
    "checks/slope.py": (
        ("under(ratio, limit.value - SLACK,", "under(ratio, limit.value + SLACK,"),
        ("over(fall.slope.ratio, limit.value + SLACK,", "over(fall.slope.ratio, limit.value - SLACK,"),
        ("return self.fall.drop.metres < 0", "return self.fall.drop.metres <= 0"),
        ("key=lambda residual: abs(residual.above)", "key=lambda residual: residual.above"),
        ("key=lambda limit: limit.value)\n    worse", "key=lambda limit: -limit.value)\n    worse"),
    ),
    "checks/flatness.py": (
        ("over(most.metres, limit.value, (doubt * 2).metres)", "over(most.metres, limit.value)"),
        ('limits["lippage at most"], abs(step)', 'limits["lippage at most"], step'),
        ("height < least.length or height > most.length", "height < least.length or height >= most.length"),
        ("half = length / 2", "half = length"),
    ),
    "checks/ponding.py": (
        ("NARROW = millimetres(1)", "NARROW = millimetres(Fraction(4, 5))"),
        ("long * NARROW.metres**2:", "long * NARROW.metres**2 * 36:"),
        ("over(depth.metres, limit.value, (doubt * 2).metres)", "over(depth.metres, limit.value)"),
        ("height > spots[index].z}", "height >= spots[index].z}"),
    ),
    "checks/dig.py": (
        ("max(ZERO, -spot.difference) for", "abs(spot.difference) for"),
        ("sum(depths, ZERO) * Fraction(1, len(read))", "sum(depths, ZERO) * Fraction(1, len(self.spots))"),
        ("area / len(corners) * sum(", "area / 2 * sum("),
        ("return total * self.scale.value", "return total"),
    ),
    "checks/layout.py": (
        ('"fault" if abs(lean.ratio) > limit.value', '"fault" if lean.ratio > limit.value'),
        ("if width <= ZERO or length <= ZERO:", "if width < ZERO or length < ZERO:"),
        ('"fault" if abs(off) > allowed', '"fault" if abs(off) >= allowed'),
        ("return Length(across.metres / units)", "return Length(across.metres / (units + 1))"),
    ),
    "checks/drains.py": (('if area.use == "pool deck":', 'if area.use != "pool deck":'),),
    "checks/trend.py": (
        ("if self.count < 2:", "if self.count < 1:"),
        ("- 2 * theirs * ours", "- theirs * ours"),
    ),
    # -- findings
    "findings/slips.py": (("if twice > tolerance:", "if twice >= tolerance:"),),
    "findings/layers.py": (
        ("if layer.thickness < rule.length:", "if layer.thickness <= rule.length:"),
        ("if deepest >= limit.length", "if deepest > limit.length"),
    ),
    "findings/sense.py": (("(least, above < least.length)", "(least, above <= least.length)"),),
    # -- journal: the chain, the disk, the pragmas, copies and rescue
    "places.py": (
        ("os.fsync(self._handle)", "pass"),
        ("os.fsync(file.fileno())", "pass"),
        ("            folder.remove(new.name)\n            folder.sync()", "            folder.remove(new.name)"),
        ("            raise\n        folder.sync()\n\n\ndef remove", "            raise\n\n\ndef remove"),
        ("> LEFT_OVER:", "> 0:"),
    ),
    "journal/schema.py": (
        ('        "cell_size_check": 1,\n', ""),
        ('        "mmap_size": 0,\n', ""),
        ('        "trusted_schema": 0,\n', ""),
        ('"synchronous": 3,', '"synchronous": 2,'),
        ('        "recursive_triggers": 1,\n', ""),
        ("answer[0] != value:", "answer[0] is None:"),
        ("    OR EXISTS (SELECT 1 FROM entry WHERE replaces = NEW.replaces)\n", ""),
    ),
    "journal/file.py": (
        ('"PRAGMA synchronous=EXTRA"', '"PRAGMA synchronous=OFF"'),
        ("if version > schema.FORMAT:", "if version > schema.FORMAT + 1:"),
        ("if not fits(connection, schema.STATEMENTS):", "if False:"),
    ),
    "journal/recovery/copying.py": (('"PRAGMA synchronous=EXTRA"', '"PRAGMA synchronous=OFF"'),),
    "journal/recovery/backup.py": (
        ('if answer != "ok" or count != last.seq:', 'if answer != "ok":'),
        ("for number in range(free, 1, -1):", "for number in range(free - 1, 1, -1):"),
    ),
    "journal/chain.py": (
        ("if digest != row[-1]:", "if False:"),
        ("if previous is not None and row[-2] != previous:", "if False:"),
    ),
    "journal/store.py": (
        (
            '        connection.execute("BEGIN IMMEDIATE")\n        try:',
            '        connection.execute("BEGIN")\n        try:',
        ),
        ("if len(entries) == len(drafts):", "if False:"),
        ("                if there := self._find(connection, draft.id):\n", "                if there := None:\n"),
    ),
    "journal/seen.py": (("self._place = max(self._place, (seq, digest))", "self._place = (seq, digest)"),),
    "journal/ids.py": (("if now > last:", "if True:"),),
    "journal/recovery/remains.py": (("all(entry.hash != other.hash for other, _ in same)", "not same"),),
    # -- several laptops
    "joining/history.py": (
        ("if link.number != (before.number if before is not None else 0) + 1:", "if False:"),
        ("before is not None and before.effective + STEP > effective", "before is not None and False"),
    ),
    "joining/log.py": (("if not any(self.knew(other, each) for other in ends if other is not each)]", "]"),),
    # -- state: what counts, doubt, sign-offs
    "state/record.py": (
        ("return signed[-1] if signed else None", "return signed[0] if signed else None"),
        ("kept.fact.area, kept.fact.stage) == (area, stage)", "kept.fact.area, stage) == (area, stage)"),
    ),
    "state/preview.py": (
        ("if surface not in known]", "]"),
        ("max(moves, key=abs, default=ZERO)", "max(moves, default=ZERO)"),
        ("was.difference != now.difference", "was.difference < now.difference"),
    ),
    "state/built.py": (
        ("elif state.in_doubt(shot):", "elif False:"),
        ("if shot and not state.in_doubt(shot) else None", "if shot else None"),
        ("elif verdict is None or", "elif"),
    ),
    "state/state.py": (
        ("if max(self._moved, default=0) <= seq:", "if not self._moved:"),
        ("if self.doubt.is_trusted(shot.id, shot.setup, shot.place, shot.seq):", "if False:"),
        ("at > begun}", "at > 0}"),
        ("return None if self.doubt.failed(newest.id, LAST) else newest", "return newest"),
        ("return elevation.above(zero) if zero", "return elevation.height if zero"),
    ),
    "state/fold.py": (
        ("and before.order > shot.order:", "and before.order < shot.order:"),
        ("fact.late.after + 1, True", "fact.late.after, True"),
    ),
    "state/as_built.py": (
        ('if fact.kind == "lippage":', "if fact.kind:"),
        ("if shot and not state.in_doubt(shot) else None", "if shot else None"),
        ("if len(built) < 2 or", "if len(built) < 1 or"),
    ),
    # -- actions and session
    "actions/readings.py": (
        ("found = found.minus(above)", "pass"),
        ('casefold() == "above" else -size', 'casefold() == "above" else size'),
        ("length_on(figure, rod_named(state, old.rod))", "length_on(figure, state.plan.rod)"),
        (
            "if folded(sight.mark) == folded(name) else sight",
            "if sight.mark == name.strip() else sight",
        ),
        (
            "length = length_on(typed, setup.instrument.rod)\n            judged",
            "length = length_on(typed, state.plan.rod)\n            judged",
        ),
    ),
    "actions/evening.py": (
        ('if kind == "lippage" and length < ZERO:', 'if kind == "lippage" and length <= ZERO:'),
        ("if length <= ZERO:", "if length < ZERO:"),
        ("if found.doubtful:", "if False:"),
    ),
    "actions/instrument.py": (
        ("if len(rods) > 1:", "if len(rods) > 2:"),
        ("len(name) > LONGEST_NAME or", "len(name) >= LONGEST_NAME or"),
        ("if len(set(names)) < len(names):", "if False:"),
    ),
    "actions/entered.py": (
        ("if len(plain) > LONGEST_TEXT:", "if len(plain) >= LONGEST_TEXT:"),
        ("if looked is not None and day_of(looked, offset) != day_of(at, offset):", "if False:"),
        ("len(plain) > LONGEST_INITIALS", "len(plain) >= LONGEST_INITIALS"),
    ),
    "session/undo.py": (
        ("if entry.by != by or not", "if not"),
        ("and _act_of(journal, place[1]).id == entry.id:", ":"),
        (" or _undone_by(journal, entry) is not None:", ":"),
    ),
    "session/clock_watch.py": (
        ("HONEST = timedelta(seconds=2)", "HONEST = timedelta(seconds=4)"),
        ("abs(jump) > HONEST", "jump > HONEST"),
        ("moment - self._clock()", "self._clock() - moment"),
        ("return day_of(at, offset) == day_of(at, here) == day_of(now, here)", "return at is not now"),
        ("day_of(at, offset) == day_of(at, here) == day_of(now, here)", "day_of(at, here) == day_of(now, here)"),
        ("clocks = by_clock(looked)[1], by_clock(self.moment)[1]", "clocks = (by_clock(self.moment)[1],)"),
    ),
    "session/session.py": (
        ("if [entry.seq for entry in news] != [*range(self.seq + 1, self.seq + 1 + len(news))]:", "if False:"),
        ("trial = self.state.copied()", "trial = self.state"),
        (
            "is_today(at, offset) for at, offset, by in read if by == self.by)",
            "is_today(at, offset) for at, offset, by in read)",
        ),
    ),
    # -- files and the system
    "files/crash.py": (("CODE = 3", "CODE = 1"),),
    # -- reports
    "report/day_export.py": (
        ("/ units.one.metres), 6)", "/ units.one.metres), 3)"),
        ('if result.verdict == "fault"]', "]"),
        ("LONGEST_LINE = 140", "LONGEST_LINE = 141"),
    ),
    "report/spreadsheet.py": (("return guarded(kept)", "return kept"),),
    "report/review.py": (("elif has_changed(state, kept):", "elif False:"),),
    "report/checks.py": (('_("open") if corner.lean.ratio > 0', '_("open") if corner.lean.ratio < 0'),),
    "report/instrument.py": (("if readings >= rule.readings:", "if readings > rule.readings:"),),
    "report/layout.py": (("Word.CUT if off > allowed else", "Word.CUT if off >= allowed else"),),
    # -- the office: what is compared, what is held to its number, what ends a wait
    "office/chains.py": (
        ("if link.rows(_HASHES, (job, piece.chain, ours[0][0], ours[-1][0])) != ours:", "if len(ours) < 0:"),
        ("if last < seen.number:", "if last > seen.number:"),
        ("if row[0] != number or row[-1] != digest:", "if row[-1] != digest:"),
    ),
    "office/connection.py": (
        (
            "self._until = time.monotonic() + self._waits.answer",
            "self._until = time.monotonic() + 9 * self._waits.answer",
        ),
        ("if not is_loopback(info.host):", "if is_loopback(info.host):"),
    ),
    "office/address.py": (("if mode & 0o077:", "if mode & 0o007:"),),
    "office/jobs.py": (
        ("if len(meant) > 1:", "if len(meant) > 2:"),
        ("if found and not found[0][0]:", "if False:"),
    ),
    "office/share.py": (
        ("for digest, row in found.rows.items() if digest not in strange}", "for digest, row in found.rows.items()}"),
        (" where p.content <> excluded.content", ""),
        ("if gives_plan and not link.rows(", "if False and not link.rows("),
    ),
    "office/board.py": (
        ("order by job, entries desc, role) best", "order by job, entries, role) best"),
        ("return row if row.entries == entries else", "return row if row.entries >= entries else"),
        ("goes_on=len(names) > len(board.jobs)", "goes_on=False"),
    ),
    # -- what a board shows
    "sharing/progress.py": (
        ("if min(parts) < 0 or sum(parts)", "if sum(parts)"),
        ("if not max(heads) <= row.entries <= sum(heads):", "if not row.entries <= sum(heads):"),
        ("shot.seq > last.seq", "shot.seq < last.seq"),
        ("said.laptop == own and name != new", "name != new"),
    ),
    "report/board.py": (
        ('job.last is not None else "", reverse=True)', 'job.last is not None else "")'),
        (".days < 7 else", ".days <= 7 else"),
        ("if highest and in_it > highest:", "if highest and in_it >= highest:"),
        ("if set(other.heads) == set(best.heads) and", "if"),
    ),
    # -- commands: what they return
    "cli/records.py": (
        ("code=1 if found.lost or further else 0", "code=1 if found.lost else 0"),
        ("code=0 if found.sound and not compared.less else 1", "code=0 if found.sound and not compared.less else 3"),
        ("if each.entries > found.last]", "if each.entries >= found.last]"),
    ),
    "cli/built.py": (
        (
            'code = 1 if any(each.verdict == "fault" for _, each in found)',
            'code = 1 if any(each.verdict == "x" for _, each in found)',
        ),
        ('code=1 if check.verdict == "fault" else 0', "code=0"),
    ),
    "cli/evening.py": (("code=1 if left else 0", "code=0"),),
    "cli/instrument.py": (("code=0 if fact.good else 1", "code=0"),),
    "cli/circuits.py": (("code=1 if fact.within is False else 0", "code=0"),),
    "cli/layout.py": (('code=1 if any(square.verdict == "fault"', 'code=0 if any(square.verdict == "fault"'),),
    "cli/site.py": (("waiting is None else 1", "waiting is None else 0"),),
    "cli/run.py": (
        (
            "else [])], says, 2)\n        return 2",
            "else [])], says, 2)\n        return 1",
        ),
        ('each[:1] == "-" and', 'each[:1] == "+" and'),
    ),
}


@functools.lru_cache(maxsize=4)
def _meaning(code: str) -> str:
    """A source without its spaces and remarks."""
    return ast.dump(ast.parse(code))


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: in the file of the package, the text that goes and the one that comes."""

    file: str
    old: str
    new: str

    def __str__(self) -> str:
        old, new = (" ".join(text.split()) or "nothing" for text in (self.old, self.new))
        return f"{self.file}: {old}  ->  {new}"

    def applied(self, code: str) -> str:
        """The file's text with the change in it. Raises `ValueError` where it can't be made or changes nothing."""
        if (often := code.count(self.old)) != 1:
            raise ValueError(f"{self.file} has {often} times {self.old!r}; a change needs a text that is there once.")
        changed = code.replace(self.old, self.new)
        if _meaning(changed) == _meaning(code):
            raise ValueError(f"{self.file}: {self.old!r} to {self.new!r} changes nothing.")
        return changed


MUTANTS = tuple(Mutant(file, old, new) for file, pairs in CHANGES.items() for old, new in pairs)


def must_catch(mutant: Mutant) -> list[list[str]]:
    """The tests that must catch it, in the order they are tried: of its file, of its folder, of published sources."""
    path = Path(mutant.file)
    folder = f"tests/{path.parts[0] if len(path.parts) > 1 else AT_THE_TOP.get(path.name, 'cli')}"
    folders = ELSEWHERE.get(folder, [folder])
    own = f"{folder}/test_{path.stem}.py"
    allowed = [*folders, "tests/published"]
    first = own if (TREE / own).is_file() else FIRST.get(mutant.file, "")
    return [[each] for each in (first,) if each.startswith(tuple(allowed))] + [[each] for each in allowed]


class Tree:
    """A private copy of the tree in which one file at a time is changed."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._sound: set[str] = set()
        named = subprocess.run(["git", "ls-files", "-z"], cwd=TREE, check=True, capture_output=True).stdout.decode()
        for name in filter(None, named.split("\0")):
            to = root / name
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(TREE / name, to)

    def fate(self, mutant: Mutant) -> Fate:
        """What the tests make of it. Raises `RuntimeError` where they fail without it as well."""
        path = self._root / PACKAGE / mutant.file
        code = path.read_text(encoding="utf-8")
        for tests in must_catch(mutant):
            self._write(path, mutant.applied(code))
            try:
                passed = self._passes(tests)
            except subprocess.TimeoutExpired:
                return "hung"
            finally:
                self._write(path, code)
            if not passed:
                self._must_be_sound(tests)
                return "caught"
        return "survived"

    def _must_be_sound(self, tests: Sequence[str]) -> None:
        """What fails must pass without the change, or it catches nothing."""
        name = " ".join(tests)
        if name not in self._sound and not self._passes(tests):
            raise RuntimeError(f"{name} fails without any change.")
        self._sound.add(name)

    def _passes(self, tests: Sequence[str]) -> bool:
        """Whether the tests pass; that they could not be run at all is no failure of theirs."""
        environment = {**os.environ, "PYTHONPATH": str(self._root)}
        ran = subprocess.run(
            [sys.executable, "-m", "pytest", *tests, "-x", "-q", "-p", "no:cacheprovider"],
            cwd=self._root, env=environment, capture_output=True, timeout=LONGEST, text=True,
        )  # fmt: skip
        if ran.returncode not in (0, 1, 2):  # 1: a test failed; 2: it could not even be imported
            raise RuntimeError(f"pytest ended with {ran.returncode}:\n{ran.stdout[-2000:]}{ran.stderr[-2000:]}")
        return ran.returncode == 0

    @staticmethod
    def _write(path: Path, code: str) -> None:
        """Writes it, and takes away what Python compiled, which it knows by time and size: both may be the same."""
        path.write_text(code, encoding="utf-8")
        for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
            compiled.unlink()


def chosen(only: str, part: str, sample: int, seed: int) -> Iterator[Mutant]:
    """Those that were asked for."""
    number, parts = map(int, part.split("/"))
    found = [each for each in MUTANTS if only in str(each)]
    if sample:
        found = sorted(random.Random(seed).sample(found, min(sample, len(found))), key=str)
    yield from found[number - 1 :: parts]


def main() -> int:
    """Runs them one after the other; 1 where more than five of a hundred survive."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--only", default="", metavar="TEXT")
    parser.add_argument("--part", default="1/1", metavar="N/M")
    parser.add_argument("--sample", type=int, default=0, metavar="N")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    mutants = list(chosen(options.only, options.part, options.sample, options.seed))
    survivors = []
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = Tree(Path(folder))
        for mutant in mutants:
            fate = tree.fate(mutant)
            print(f"{fate:<9}{mutant}", flush=True)
            survivors += [mutant] if fate == "survived" else []
    print(f"{len(mutants) - len(survivors)} of {len(mutants)} caught; {len(survivors)} survived.")
    for mutant in survivors:
        print(f"  {mutant}")
    return 1 if 20 * len(survivors) > len(mutants) else 0


if __name__ == "__main__":
    sys.exit(main())
