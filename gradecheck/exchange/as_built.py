"""What was built, as rows for other programs: each reading that counts, what it found and how it is judged.

Elevations count from the job's own zero, whichever datum the screen shows them from, and `off` is found less target,
exact. A reading that can't be judged says so, and one in doubt never looks like one that is not.
"""

from __future__ import annotations

from collections.abc import Container, Sequence

from gradecheck.catalogue import _, in_english
from gradecheck.exchange.table import PointTable, Value
from gradecheck.joining.names import called
from gradecheck.journal.facts import Reading
from gradecheck.journal.stamps import on_site
from gradecheck.journal.store import LogLine
from gradecheck.measure.verdict_words import Word
from gradecheck.report.log import reading_notes
from gradecheck.state.state import Shot, State, Surface, shot_of

COLUMNS = (
    "area", "stage", "point", "x", "y", "target", "found", "off", "verdict", "U", "time", "person", "laptop",
    "setup", "entry", "remark",
)  # fmt: skip
LENGTHS = frozenset(("x", "y", "target", "found", "off", "U"))


@in_english
def as_built(state: State, lines: Sequence[LogLine], areas: Container[str], *, every: bool = False) -> PointTable:
    """The last reading of each surface in these areas, or with `every` all that count, by area, stage and route.

    `lines` are all of the journal.
    """
    numbers = {(line.first or line.entry).id: line.entry.seq for line in lines if line.replaced_by is None}
    found = []
    for line in lines:
        fact = line.entry.fact
        if line.replaced_by is not None or not isinstance(fact, Reading) or fact.area not in areas:
            continue
        first, surface = line.first or line.entry, Surface(fact.area, fact.point, fact.stage)
        latest = state.latest(surface)
        last = latest is None or latest.id == first.id
        if last or every:
            shot = shot_of(first, fact, line.entry.by)
            read_again = 0 if last or latest is None else numbers.get(latest.id, 0)
            setup = numbers.get(fact.setup, 0) if fact.setup in state.setups else 0
            row = _row(state, surface, shot, line, setup, read_again)
            found.append((_order(state, surface, line.entry.seq), row))
    rows = [row for _, row in sorted(found, key=lambda each: each[0])]
    return PointTable(
        state.plan.job, COLUMNS, LENGTHS, rows, state.plan.notation.units, "point", "found", ("area", "stage")
    )


def _order(state: State, surface: Surface, seq: int) -> tuple[int, int, int, int]:
    """Where a row stands: as the plan has areas, stages and points, what it lost since behind them, then by entry."""
    area = state.plan.areas.get(surface.area)
    if area is None:
        return len(state.plan.areas), 0, 0, seq
    stages, last = list(area.stages), len(area.points)
    stage = stages.index(surface.stage) if surface.stage in stages else len(stages)
    return list(state.plan.areas).index(surface.area), stage, area.index.get(surface.point, last), seq


def _row(state: State, surface: Surface, shot: Shot, line: LogLine, setup: int, again: int) -> tuple[Value, ...]:
    found, verdict = state.found(shot, surface), state.judge(shot, surface)
    target = None if state.is_example(surface) else state.target(surface)
    doubted = state.in_doubt(shot)
    word = verdict.word.value if verdict else _("NOT JUDGED")
    x, y = state.place(surface) or (None, None)
    return (
        surface.area,
        surface.stage,
        surface.point,
        x,
        y,
        target.wanted.height if target else None,
        found.height if found else None,
        verdict.difference if verdict and verdict.word is not Word.EXAMPLE else None,
        _("IN DOUBT: {word}", word=word) if doubted else word,
        state.uncertainty(shot.setup, shot.rod, surface) if found else None,
        on_site(shot.at, shot.offset).isoformat(timespec="seconds"),
        shot.by,
        called(line.entry.laptop),
        setup or None,
        line.entry.seq,
        "; ".join(filter(None, _remarks(state, surface, shot, line, again))),
    )


def _remarks(state: State, surface: Surface, shot: Shot, line: LogLine, again: int) -> Sequence[str]:
    """What else must be known of a reading."""
    fact = line.entry.fact
    return (
        "REHEARSAL" if state.record.rehearsal else "",
        state.why_not_judged(shot, surface),
        _("doubted, trusted") if state.answered[shot.id] and not state.in_doubt(shot) else "",
        _("corrects no. {seq}", seq=line.first.seq) if line.first is not None else "",
        _("read again, no. {again}", again=again) if again else "",
        _("questioned, kept") if isinstance(fact, Reading) and fact.question else "",
        *(reading_notes(fact, state.plan.notation) if isinstance(fact, Reading) else ()),
        _("clock unknown") if line.entry.clock else "",
    )
