"""Perfect work passes, whatever the plan is made of: surfaces, flights, chains of risers, ramps, walks, or several.

How many of the plans drawn are clean is counted: a property of plans that are never clean would prove nothing.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from textwrap import indent

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.measure.quantities import ZERO, Length, inches
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.report.checks import CheckResult, ahead_results, area_results, over_dig_result, result_line
from gradecheck.state.as_built import AreaChecks, check_area, next_risers, over_dug
from gradecheck.state.state import State, Surface, fold
from tests.journal_strategies import Site
from tests.strategies import examples
from tests.thorough import some

HEAD = """\
job: Gorse Hill
units: in
instrument: {beam: 10 arcsec, receiver: 1/32 in, longest shot: 60 ft}
benchmarks: {DOOR: {elevation: 0, at: [0, -60]}}
tolerances: {finish: 3/8 in, base: 1/2 in, bedding: 1/2 in, subgrade: 3/4 in}
build-ups:
  paved: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
"""
ROD = inches(400)


@dataclass(frozen=True)
class Drawn:
    """A job file, and what it is made of."""

    text: str
    kinds: tuple[str, ...]


def _tenths(low: int, high: int) -> st.SearchStrategy[str]:
    return st.integers(low, high).map(lambda tenths: f"{tenths / 10:g}%")


def _sixteenths(low: int, high: int) -> st.SearchStrategy[str]:
    """Inches, as likely exactly at one of the two as anywhere between."""
    between = st.integers(low, high) | st.sampled_from((low, high))
    return between.map(lambda each: f"{each // 16} {each % 16}/16 in")


def _yard(draw: st.DrawFn, n: int, start: str) -> str:
    """A surface of any kind, 150 ft from the next area; with a drain or a wall, or neither."""
    x, wide, deep = 150 * n, draw(st.integers(8, 30)), draw(st.integers(8, 30))
    kind = draw(st.sampled_from(("plane", "plane", "warped", "crown", "valley", "drain")))
    corners = {"A": (x, 0), "B": (x + wide, 0), "C": (x + wide, deep), "E": (x, deep)}
    high = draw(st.integers(-8, 0))
    fall = draw(st.integers(10, 40))

    def entry(name: str, down: Fraction) -> str:
        at_x, at_y = corners[name]
        return f"{name}{n}: {{elevation: {float(high - down):g}, at: [{at_x} ft, {at_y} ft]}}"

    per = Fraction(fall, 1000) * 12
    drains, surface = "", ""
    if kind == "plane":
        points = [entry("A", Fraction(0))]
        surface = f"{{at: A{n}, fall: {{x: {draw(_tenths(-30, 30))}, y: {draw(_tenths(0, 40))}}}}}"
    elif kind == "warped":
        points = [entry("A", Fraction(0)), entry("B", Fraction(0))]
        points += [entry("C", per * deep), entry("E", per * deep + draw(st.integers(-2, 2)))]
        surface = f"{{corners: [A{n}, B{n}, C{n}, E{n}]}}"
    elif kind in ("crown", "valley"):
        corners |= {"A": (x + wide // 2, 0), "B": (x + wide // 2, deep)}
        points = [entry("A", Fraction(0)), entry("B", Fraction(draw(st.integers(0, 20)), 1000) * 12 * deep)]
        surface = f"{{{kind}: [A{n}, B{n}], falls: [{draw(_tenths(10, 40))}, {draw(_tenths(10, 40))}]}}"
    else:
        corners["D"] = (x + wide // 2, deep // 2)
        points = [entry(name, Fraction(0)) for name in "ABCE"] + [entry("D", per * max(wide, deep) / 2)]
        surface = f"{{spots: [A{n}, B{n}, C{n}, E{n}, D{n}]}}"
        drains = f"drains: {{into: [D{n}]}}\n"
    ring = ", ".join(f"[{at} ft, {y} ft]" for at, y in ((x, 0), (x + wide, 0), (x + wide, deep), (x, deep)))
    paved = "build-up: paved\n" if draw(st.booleans()) else ""
    listed = "".join(f"  {each}\n" for each in points)
    return (
        f"{paved}outline: [{ring}]\nsurface: {surface}\ngrid: {{every: {draw(st.integers(3, 6))} ft, name: G{n}}}\n"
        f"{drains}rules: {{fall at least: 0%, fall wanted: 0.5%}}\npoints:\n{listed}"
    )


def _flight(draw: st.DrawFn, n: int, start: str) -> str:
    """Steps from a point or from the door, by their riser or by a whole rise that is shared out."""
    way, count = draw(st.sampled_from(("down", "up"))), draw(st.integers(2, 9))
    riser, tread = draw(_sixteenths(64, 124)), draw(st.sampled_from((11, 12, 14)))
    rise = f"riser: {riser}"
    if draw(st.booleans()):
        total = count * draw(st.integers(70, 110)) + draw(st.integers(0, count))
        rise = f"total: {total // 16} {total % 16}/16 in, round to: 1/16 in"
    landing = ""
    if count > 3 and draw(st.booleans()):
        landing = f", landings: {{2: {{length: 4 ft, fall: {draw(st.sampled_from(('0%', '1:50', '1:48')))}}}}}"
    return (
        f"flight: {{from: {start}, {way}: {count}, {rise}, tread: {tread} in, "
        f"tread fall: {draw(st.sampled_from(('0%', '1:50', '1:48')))}, name: S{n}{landing}}}\n"
    )


def _chain(draw: st.DrawFn, n: int, start: str) -> str:
    """The same written as points, a riser from each to the next, with or without treads between."""
    way, riser = draw(st.sampled_from(("down", "up"))), draw(_sixteenths(64, 124))
    fall, over = draw(st.sampled_from(("0%", "1:50", "1:48"))), draw(st.sampled_from(("", "11", "14")))
    tread = f"{'fall' if way == 'down' else 'rise'}: {fall}, over: {over}, " if over else ""
    entries, before = [], start
    for number in range(1, draw(st.integers(2, 7)) + 1):
        entries.append(
            f"  K{n}{number}: {{from: {before}, {tread if before != start else ''}{way}: 1, riser: {riser}}}\n"
        )
        before = f"K{n}{number}"
    return f"points:\n{''.join(entries)}"


def _ramp(draw: st.DrawFn, n: int, start: str) -> str:
    """Runs and landings, as steep and as high as they may be or less."""
    slope, long = draw(st.sampled_from(((12, 30), (12, 20), (14, 30), (16, 40), (20, 24))))
    runs = ", ".join([f"{long} ft"] * draw(st.integers(1, 3)))
    way = draw(st.sampled_from(("fall", "rise")))
    level = draw(st.sampled_from(("0%", "1:50", "1:48")))
    landing = f"landing: 5 ft, landing fall: {level}"
    return f"ramp: {{from: {start}, {way}: 1:{slope}, runs: [{runs}], {landing}, name: R{n}}}\n"


def _walk(draw: st.DrawFn, n: int, start: str) -> str:
    """An accessible walk, straight or bent, as steep along it and across it as it may be or less."""
    x, bent = 150 * n, draw(st.booleans())
    along, across = draw(st.sampled_from(("1:20", "3%", "1:48"))), draw(st.sampled_from(("1:48", "1%", "2%")))
    if bent:
        along = across
    lines = {"L": [(x, 0), (x + 25, 0)], "Q": [(x, 5), (x + 20, 5)]}
    ring = [(x, 0), (x + 25, 0), (x + 25, 5), (x, 5)]
    if bent:
        lines = {"L": [*lines["L"], (x + 25, 25)], "Q": [*lines["Q"], (x + 20, 25)]}
        ring = [(x, 0), (x + 25, 0), (x + 25, 25), (x + 20, 25), (x + 20, 5), (x, 5)]

    def places(line: list[tuple[int, int]]) -> str:
        return ", ".join(f"[{at_x} ft, {at_y} ft]" for at_x, at_y in line)

    edges = "".join(f"  {name}{n}-: {{every: 5 ft, along: [{places(each)}]}}\n" for name, each in lines.items())
    return (
        f"use: walk\naccessible: yes\noutline: [{places(ring)}]\n"
        f"surface: {{at: W{n}, fall: {{x: {along}, y: {across}}}}}\n"
        f"points: {{W{n}: {{elevation: {draw(st.integers(-6, 0))}, at: [{x} ft, 0 ft]}}}}\nedges:\n{edges}"
        "rules: {fall at least: 0%, fall wanted: 0.5%}\n"
    )


KINDS: dict[str, Callable[[st.DrawFn, int, str], str]] = {
    "yard": _yard, "flight": _flight, "chain": _chain, "ramp": _ramp, "walk": _walk,
}  # fmt: skip


FIRST = {"yard": "A", "flight": "S", "chain": "K", "ramp": "R", "walk": "W"}
"""The letter of a point of each kind, from which steps and ramps of a later area may start."""


@st.composite
def plans(draw: st.DrawFn) -> Drawn:
    """One to three areas, of one kind or of several, under no code or some."""
    kinds = tuple(draw(st.lists(st.sampled_from(sorted(KINDS)), min_size=1, max_size=3)))
    starts, areas = ["DOOR"], ""
    for n, kind in enumerate(kinds):
        areas += f"  {kind} {n}:\n{indent(KINDS[kind](draw, n, draw(st.sampled_from(starts))), '    ')}"
        starts.append(f"{FIRST[kind]}{n}{'1' if kind in ('chain', 'flight', 'ramp') else ''}")
    codes = draw(
        st.sampled_from(("", "us-residential", "us-commercial", "us-accessible", "us-residential, us-accessible"))
    )
    top = f"codes: [{codes}]\n" if codes else ""
    top += "round targets: 1/16 in\n" if draw(st.booleans()) else ""
    top += (
        f"walls: {{HOUSE: [[0 ft, -{draw(st.sampled_from((0, 2, 30)))} ft], [40 ft, -30 ft]]}}\n"
        if draw(st.booleans())
        else ""
    )
    return Drawn(f"{HEAD}{top}areas:\n{areas}", kinds)


def _is_clean(plan: Plan) -> bool:
    """Whether examine has nothing to say of the plan but reminders: then it ends with 0."""
    return all(each.severity is Severity.REMINDER for each in findings(plan))


Off = Callable[[str, str, str], Length | None]


def _read(plan: Plan, off: Off) -> State:
    """Every point at every stage read so far off its target; None: not read."""
    site = Site(plan)
    site.set_up("DOOR", ROD, rod=plan.rod.name)
    for area in plan.areas.values():
        for stage in area.stages:
            for point in area.points:
                if (by := off(area.name, point.name, stage)) is not None:
                    wanted = target(area, point, stage).wanted
                    site.read((area.name, point.name, stage), ROD - wanted.height - by)
    return fold(plan, site.entries)


def _told(state: State) -> Iterator[CheckResult]:
    notation = state.plan.notation
    for area in state.plan.areas.values():
        for stage in area.stages:
            yield from area_results(check_area(state, area.name, stage), notation)
        yield from (ahead_results(each, notation) for each in next_risers(state, area.name))
        if (dug := over_dug(state, area.name)) is not None:
            yield over_dig_result(dug, notation)


WRONG = ("fault", "advice", "can't tell")


class Counted:
    """How many plans were drawn, and how many of each kind were clean."""

    def __init__(self) -> None:
        self.drawn, self.clean = Counter[str](), Counter[str]()

    def takes(self, drawn: Drawn, plan: Plan) -> bool:
        """Whether the plan is clean; it is counted."""
        clean = _is_clean(plan)
        for kind in {*drawn.kinds, "any", *(("mixed",) if len(set(drawn.kinds)) > 1 else ())}:
            self.drawn[kind] += 1
            self.clean[kind] += clean
        return clean

    def are_enough(self) -> None:
        """At least a third of all plans, and some of every kind, were clean."""
        assert self.clean["any"] * 3 >= self.drawn["any"], self.__dict__
        for kind in (*KINDS, "mixed"):
            assert self.clean[kind] >= self.drawn["any"] // 50, (kind, self.__dict__)


def test_a_clean_plan_read_at_its_targets_gives_no_finding() -> None:
    counted = Counted()

    @examples(200)
    @given(plans(), st.randoms(use_true_random=False), st.booleans())
    def each(drawn: Drawn, chance: Random, whole: bool) -> None:
        plan = read_plan(drawn.text, "job.yaml")
        if counted.takes(drawn, plan):
            state = _read(plan, lambda *_: ZERO if whole or chance.random() < 0.7 else None)
            assert [result_line(told) for told in _told(state) if told.verdict in WRONG] == []

    each()
    counted.are_enough()


def _u(state: State) -> Length:
    """The least U of all that was read."""
    found = [state.uncertainty(shots[-1].setup, shots[-1].rod, surface) for surface, shots in state.shots.items()]
    return min(each for each in found if each is not None)


def test_what_the_rod_can_not_resolve_is_never_out_of_any_plan() -> None:
    """Each height is off by no more than its U: then no check can know that anything is beyond its limit."""
    counted = Counted()

    @examples(150)
    @given(plans(), st.randoms(use_true_random=False))
    def each(drawn: Drawn, chance: Random) -> None:
        plan = read_plan(drawn.text, "job.yaml")
        if counted.takes(drawn, plan):
            u = _u(_read(plan, lambda *_: ZERO))
            state = _read(plan, lambda *_: u * Fraction(chance.randint(-64, 64), 64))
            assert [result_line(told) for told in _told(state) if told.verdict == "fault"] == []

    each()
    counted.are_enough()


def _verdicts(checks: AreaChecks) -> dict[tuple[str, ...], set[str]]:
    """Every verdict of an area, by what was held to its limit and where."""
    found: dict[tuple[str, ...], set[str]] = defaultdict(set)
    route = checks.route
    for falls in (checks.falls, route.running if route else None, route.cross if route else None):
        for judged in falls.judged if falls else ():
            found[judged.what, *sorted((judged.fall.start, judged.fall.end))].add(judged.verdict)
    if checks.plane is not None:
        found["plane",].add(checks.plane.verdict)
    if checks.flooded:
        found["ponding",] |= {pond.verdict for pond in checks.ponds} or {"passes"}
    for flat in checks.flatness:
        found["flatness", *(spot.name for spot in flat.line)].add(flat.verdict)
    for number, flight in enumerate(checks.flights):
        for held in flight.held:
            where = held.where if held.what == "riser" else (str(number),)
            found[held.what, *where].add(held.verdict)
    for held in (*checks.ramps, *checks.level_changes):
        found[held.what, *held.where].add(held.verdict)
    return found


@pytest.mark.parametrize("tolerance", some(["3/8 in", "1 in"], ["3/8 in"]))
def test_good_work_is_out_only_where_no_reading_within_u_passes(tolerance: str) -> None:
    """Heights off by up to what is allowed less U may break a rule, one against the other; that is the rule's to say.

    But what it calls OUT must be so for whatever the ground can be: read again, each height up to U off from the
    first time, nothing that was OUT is good.
    """
    counted, out = Counted(), Counter[str]()

    @examples(150)
    @given(plans(), st.randoms(use_true_random=False))
    def each(drawn: Drawn, chance: Random) -> None:
        plan = read_plan(drawn.text.replace("finish: 3/8 in", f"finish: {tolerance}"), "job.yaml")
        if not counted.takes(drawn, plan):
            return
        u = _u(_read(plan, lambda *_: ZERO))
        first: dict[tuple[str, str, str], Length] = {}

        def work(area: str, point: str, stage: str) -> Length:
            allowed = plan.areas[area].tolerances[stage].high - u
            first[area, point, stage] = allowed * Fraction(chance.randint(-64, 64), 64)
            return first[area, point, stage]

        def again(area: str, point: str, stage: str) -> Length:
            return first[area, point, stage] + u * Fraction(chance.choice((-64, 64, chance.randint(-64, 64))), 64)

        state = _read(plan, work)
        for surface in state.shots:
            verdict = state.verdict(Surface(*surface))
            assert verdict is not None
            assert verdict.word.value == "ON GRADE"
        for _ in range(2):
            other = _read(plan, again)
            for area in plan.areas.values():
                for stage in area.stages:
                    before, after = (_verdicts(check_area(each, area.name, stage)) for each in (state, other))
                    for what, verdicts in before.items():
                        if verdicts == {"fault"}:
                            out[what[0]] += 1
                            assert after.get(what) != {"passes"}, what

    for _ in range(5):
        each()
        if out:
            break  # of a few dozen plans it may be that none was out; then more are drawn
    counted.are_enough()
    assert out, "nothing was out, so nothing was put to the test"
