"""Where texts come in: job files, point lists, what is typed for a job, quantities and rods."""

from __future__ import annotations

import random
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any, ClassVar

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.exchange import kinds
from gradecheck.exchange.answers import ImportAnswers
from gradecheck.exchange.table import PointTable
from gradecheck.exchange.writers import ENDINGS
from gradecheck.findings.every import findings
from gradecheck.journal.chain import START, from_row, to_row
from gradecheck.journal.facts import Draft
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import metres
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.measure.units import UnitProblemError, read_quantity, read_slope
from gradecheck.plan.geojson import read_geojson
from gradecheck.plan.load import load_plan
from gradecheck.plan.point_list import read_point_list
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.faults.noise import phrase, spoiled, spoiled_bytes, typed
from tests.journal_strategies import JOB

ROOT = Path(__file__).parents[2]
EXAMPLES = (*sorted(ROOT.glob("jobs/*/job.yaml")), *sorted((ROOT / "tests/plan/broken").glob("*.yaml")))
BESIDE = (ROOT / "tests/plan/broken",)
UNITS = tuple(Units)
MADE = datetime(2026, 5, 12, 7, 30, tzinfo=UTC)


class Door(ABC):
    """A place where something comes in; `make` draws what comes, `take` lets it in."""

    WHAT: ClassVar[str]
    SHARE: ClassVar[float]
    """Of all inputs of a run."""
    REFUSALS: ClassVar[tuple[type[Exception], ...]]
    """What may come out: these, and nothing else."""

    def __init__(self, folder: Path) -> None:  # noqa: B027 - most need nothing in that folder
        """`folder` is theirs to make and to fill."""

    @abstractmethod
    def make(self, draw: random.Random) -> Any:
        """What comes in, from that seed."""

    @abstractmethod
    def take(self, made: Any) -> None:
        """Lets it in, as the program does."""


class Job(Door):
    """A job file, by the way over the disk; what is understood is looked through as the office does."""

    WHAT, SHARE, REFUSALS = "job files", 0.01, (PlanProblemsError,)

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True)
        for each in (*BESIDE[0].glob("*.csv"), *BESIDE[0].glob("*.json")):
            (folder / each.name).write_bytes(each.read_bytes())
        self._file = folder / "job.yaml"
        self._texts = [each.read_bytes().decode("utf-8", "replace") for each in EXAMPLES]
        # The good ones are where a change goes deep; there are but a few of them.
        self._texts += [JOB] * 20 + self._texts[:2] * 20

    def make(self, draw: random.Random) -> bytes:
        text = draw.choice(self._texts)
        way = draw.random()
        if way < 0.6:
            return spoiled(draw, text, draw.choice((1, 1, 1, 2, 4))).encode("utf-8", "surrogatepass")
        if way < 0.8:
            return spoiled_bytes(draw, text.encode(), draw.randint(1, 4))
        if way < 0.95:
            return (phrase(draw, most=40) + "\n" + phrase(draw, most=20)).encode("utf-8", "surrogatepass")
        return draw.randbytes(draw.randint(0, 3_000))

    def take(self, made: bytes) -> None:
        self._file.write_bytes(made)
        findings(load_plan(self._file).plan)


class PointList(Door):
    """A list of points or a file of outlines, in each of our units."""

    WHAT, SHARE, REFUSALS = "point lists", 0.04, (PlanProblemsError,)

    def __init__(self, folder: Path) -> None:
        named = (*BESIDE[0].glob("*.csv"), *BESIDE[0].glob("*.json"))
        self._texts = [each.read_bytes().decode("utf-8", "replace") for each in sorted(named)]
        rows = [(f"P{n}", f"{n}.5", f"-{n} 3/8", f'"{n} 1/2"', "by the wall") for n in range(1, 9)]
        for separator, head in ((",", "name,x,y,elevation,note"), (";", "name;x (ft);y (m);elevation (mm);note")):
            self._texts += ["\n".join([head, *map(separator.join, rows)])] * 10
        ring = "[[0,0],[10.25,0],[10,-20e0],[0,0]]"
        self._texts += [
            '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"A"},"geometry":'
            f'{{"type":"Polygon","coordinates":[{ring}]}}}},{{"type":"Feature","properties":{{"name":"P",'
            '"elevation":"-1 1/2 in"},"geometry":{"type":"Point","coordinates":[1,2]}}]}'
        ] * 15  # fmt: skip

    def make(self, draw: random.Random) -> tuple[str, Units]:
        way, text = draw.random(), draw.choice(self._texts)
        if way < 0.8:
            text = spoiled(draw, text, draw.choice((1, 1, 1, 2, 4)))
        elif way < 0.95:
            text = "\n".join(phrase(draw, most=9) for _ in range(draw.randint(1, 6)))
        else:
            text = draw.randbytes(draw.randint(0, 2_000)).decode("utf-8", "replace")
        return text, draw.choice(UNITS)

    def take(self, made: tuple[str, Units]) -> None:
        text, units = made
        wrong = []
        for read in (read_point_list, read_geojson):
            try:
                read(text, "list", units)
            except PlanProblemsError as refused:
                wrong.append(refused)
        if len(wrong) == 2:
            raise wrong[0]


class Office(Door):
    """A list or a drawing that an office sent, of any kind, with answers that fit or do not."""

    WHAT, SHARE, REFUSALS = "lists and drawings", 0.01, (PlanProblemsError,)

    def __init__(self, folder: Path) -> None:
        rows = [("court", f"P{n}", metres(n), metres(-n), metres(Fraction(n, 8)), "by the wall") for n in range(1, 9)]
        columns, lengths = ("area", "name", "x", "y", "elevation", "note"), frozenset(("x", "y", "elevation"))
        table = PointTable("Court", columns, lengths, rows, Units.M, "name", "elevation", ("area",))
        self._files = [write(table, MADE, "proposed") for write in ENDINGS.values()]
        self._files.append(b"\n".join(b"%d;%d,5;%d;1,25;stake" % (n, n, n) for n in range(9)))
        for each in self._files:  # what reads them takes its time to be imported
            kinds.read(each, "sent")

    def make(self, draw: random.Random) -> tuple[bytes, ImportAnswers]:
        content, way = draw.choice(self._files), draw.random()
        if way < 0.7:
            content = spoiled_bytes(draw, content, draw.choice((1, 1, 2, 8)))
        elif way < 0.9:
            content = spoiled(draw, content.decode("cp1252", "replace"), 2).encode("utf-8", "surrogatepass")
        else:
            content = content[:8] + draw.randbytes(draw.randint(0, 2_000))
        units, order = draw.choice(("", "m", "ft-in", "usft")), draw.choice(("", "PNEZD", "ENZ", "P"))
        return content, ImportAnswers(
            units=units, order=order, prefix=draw.choice(("", "P")), layers=draw.choice(((), ("*",)))
        )

    def take(self, made: tuple[bytes, ImportAnswers]) -> None:
        content, answers = made
        kinds.take(kinds.read(content, "sent"), answers, "sent")


LENGTHS = ("48-3/16", "-3/16", "4' 3-1/2\"", "1.25", "1,250 mm", "12 1/2 in", "3 m", "4-3-1/2", "0.01 ft", "60⅜")
SLOPES = (
    "3/16 in/ft",
    "2%",
    "1:48",
    "1 in per 5 ft",
    "20 mm/m",
    "1.5 deg",
    "15 arcsec",
    "-1/4 in/ft",
    "0.5 percent",
)
QUANTITIES = ("1.5 ton/yd^3", "110 lb/ft^3", "2.1 t/m^3", "38 $/ton", "12 yd^3", "16 ft", "250 kg/m^2")


class Rod(Door):
    """A figure on a rod, in each of our units."""

    WHAT, SHARE, REFUSALS = "lengths", 0.59, (NotUnderstoodError,)

    def make(self, draw: random.Random) -> tuple[str, Units]:
        return typed(draw, LENGTHS), draw.choice(UNITS)

    def take(self, made: Any) -> None:
        read_length(*made)


class Quantity(Door):
    """A slope, or a quantity of some kind."""

    WHAT, SHARE, REFUSALS = "slopes and quantities", 0.22, (UnitProblemError,)

    def make(self, draw: random.Random) -> tuple[str, str]:
        wanted = draw.choice(("", "m", "t/m^3", "m^3", "$/t"))
        return typed(draw, QUANTITIES if wanted else SLOPES), wanted

    def take(self, made: tuple[str, str]) -> None:
        text, wanted = made
        if wanted:
            read_quantity(text, wanted)
        else:
            read_slope(text)


class Intake(Door):
    """What is typed for a job that is open: it becomes an entry that can be kept and read again, or is refused."""

    WHAT, SHARE, REFUSALS = "typed for a job", 0.12, (Refusal,)

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True)
        (folder / "job.yaml").write_text(JOB, encoding="utf-8")
        session = Session(folder, by="RK")
        session.record(actions.set_up(session.state, "DOOR", "48"))
        for point in ("W1", "W2"):
            self._read = session.record(actions.reading(session.state, Surface("walk", point, "finish"), "48 1/2")).id
        session.record(actions.mark(session.state, "TP1", "50", "nail in the curb"))
        self._session = session

    def make(self, draw: random.Random) -> tuple[int, tuple[str, ...]]:
        verb = draw.randrange(len(self._verbs()))
        return verb, tuple(typed(draw, (*LENGTHS, *NAMES)) for _ in range(4))

    def take(self, made: tuple[int, tuple[str, ...]]) -> None:
        verb, texts = made
        came = self._verbs()[verb](*texts)
        for draft in came if isinstance(came, list) else [came]:
            if isinstance(draft, Draft):
                assert from_row(to_row(draft, 1, START)).fact == draft.fact, "what was kept is read otherwise"

    def _verbs(self) -> Sequence[Callable[[str, str, str, str], object]]:
        s, w1 = self._session, Surface("walk", "W1", "finish")
        return (
            lambda a, b, c, d: s.draft(actions.reading(s.state, w1, a)),
            lambda a, b, c, d: s.preview(actions.reading(s.state, w1, a)),
            lambda a, b, c, d: s.question(w1, a),
            lambda a, b, c, d: s.draft(actions.reading(s.state, Surface("walk", a, b), "48")),
            lambda a, b, c, d: s.draft(actions.set_up(s.state, "DOOR", a)),
            lambda a, b, c, d: s.draft(actions.set_up(s.state, a, b, c)),
            lambda a, b, c, d: s.draft(actions.recheck(s.state, "DOOR", a)),
            lambda a, b, c, d: s.draft(actions.recheck(s.state, a, b)),
            lambda a, b, c, d: s.draft(actions.mark(s.state, a, "50", b)),
            lambda a, b, c, d: s.draft(actions.mark(s.state, "TP2", a, b)),
            lambda a, b, c, d: s.draft(
                actions.give_mark(s.state, "DOOR", a, has_moved=len(b) % 2 == 0, why=c or "dug out")
            ),
            lambda a, b, c, d: s.draft(actions.instrument_test(s.state, "two-peg", [a, b, c, d, "1", "2"])),
            lambda a, b, c, d: s.draft(actions.instrument_test(s.state, "four-directions", ["4.1", "4.1", a, b, c])),
            lambda a, b, c, d: s.draft(actions.show_datum(s.state, a)),
            lambda a, b, c, d: s.draft(actions.add_point(s.state, "walk", "W9", a, b)),
            lambda a, b, c, d: s.draft(actions.add_point(s.state, "walk", a, f"from W1 fall {b} over {c}", d)),
            lambda a, b, c, d: s.draft(actions.add_point(s.state, "walk", "W9", f"at {a}, {b}", c)),
            lambda a, b, c, d: s.draft(actions.change_target(s.state, "W1", a, b or "asked for")),
            lambda a, b, c, d: s.draft(actions.change_tolerance(s.state, "walk", "finish", a, b or "asked for")),
            lambda a, b, c, d: s.draft(actions.gauge(s.state, "lippage", "walk", a or "W1", b)),
            lambda a, b, c, d: s.draft(actions.tape(s.state, a, b, c, d)),
            lambda a, b, c, d: s.draft(actions.sign_off(s.state, "walk", "finish", [a, b], c)),
            lambda a, b, c, d: s.draft(actions.describe_day(a, b)),
            lambda a, b, c, d: s.strike(self._read, a),
            lambda a, b, c, d: s.correct(self._read, a),
            lambda a, b, c, d: s.draft(actions.note(a, "walk")),
            lambda a, b, c, d: s.draft(actions.moved(s.state, a)),
            lambda a, b, c, d: s.draft(actions.answer_doubt(s.state, a)),
            lambda a, b, c, d: s.entry(a),
            lambda a, b, c, d: s.name_of(a),
            lambda a, b, c, d: actions.known_mark(s.state, a),
            lambda a, b, c, d: actions.new_mark_name(s.state, a),
            lambda a, b, c, d: actions.read_surface(s.state, a),
        )  # fmt: skip


NAMES = (
    "W1",
    "W2",
    "TP1",
    "DOOR",
    "walk",
    "finish",
    "site rod",
    "street",
    "rain since noon",
    "from W1 fall 2% over 4 ft",
)
