"""Commands of the evening: `review`, `sign`, `day` and `gauge`."""

from __future__ import annotations

import argparse
import dataclasses
from collections.abc import Iterator, Sequence
from typing import Literal

from gradecheck import actions
from gradecheck.actions.entered import initials
from gradecheck.commands.shared import (
    chosen,
    length_json,
    meant_stage,
    open_session,
    point_names,
    print_json,
    printable,
)
from gradecheck.journal.facts import Gauged, SignedOff
from gradecheck.journal.store import LogLine
from gradecheck.report.checks import line, told_gauged
from gradecheck.report.log import LogRow, log_row
from gradecheck.report.review import (
    Chosen,
    StageRow,
    open_lines,
    recheck_line,
    stage_rows,
    still_open,
    trend,
    trend_lines,
)
from gradecheck.state.as_built import check_gauged
from gradecheck.state.signing import questions
from gradecheck.state.state import State

HEADING = (
    f"{'area':<18}{'stage':<13}{'read':>9}{'on grade':>10}{'cut':>5}{'fill':>6}{'close':>7}{'doubt':>7}"
    f"{'questioned':>12}{'struck':>8}  worst"
)


def review(options: argparse.Namespace) -> int:
    """What was checked, what is out, what is still open; 1 while anything is open."""
    with open_session(options) as session:
        areas = chosen(session.plan, options.area, options.stage, options.day)
        fitting = Chosen(
            options.day,
            areas[0].name if options.area is not None else None,
            meant_stage(areas, options.stage) if options.stage is not None else None,
            initials(options.person) if options.person is not None else None,
        )
        lines = session.all_lines()
        rows, left = stage_rows(session.state, lines, fitting), still_open(session.state)
        if options.json:
            biases = [
                {
                    "kind": bias.kind,
                    "name": bias.name,
                    "mean": length_json(bias.mean, session.plan.notation),
                    "count": bias.count,
                    "scatter mm": None if bias.scatter is None else bias.scatter * 1000,
                }
                for bias in trend(session.state)
            ]
            looks = recheck_line(session.state, lines, fitting)
            stages = [dataclasses.asdict(row) for row in rows]
            told_json = {"stages": stages, "open": left, "rechecks": looks, "trend": biases}
            if options.entries:
                told_json["entries"] = [dataclasses.asdict(row) for row in _entry_rows(session.state, lines, fitting)]
            print_json(options, told_json)
        else:
            told = [HEADING, *map(row_line, rows)] if rows else ["No readings match."]
            if options.entries:
                told += ["", *_entries(session.state, lines, fitting)]
            told += ["", *open_lines(session.state)]
            if looks := recheck_line(session.state, lines, fitting):
                told += ["", looks]
            if biases_said := trend_lines(session.state):
                told += ["", "At points read again:", *(f"  {each}" for each in biases_said)]
            print(printable("\n".join(told)))
    return 1 if left else 0


def row_line(row: StageRow) -> str:
    """One stage as a line of the table."""
    read = f"{row.read} of {row.points}"
    signed = f"  signed {row.signed}" if row.signed else ""
    return (
        f"{_within(row.area, 17):<18}{_within(row.stage, 12):<13}{read:>9}{row.within:>10}{row.cut:>5}{row.fill:>6}"
        f"{row.undecided:>7}{row.doubt:>7}{row.questioned:>12}{row.voided:>8}  {row.worst}{signed}"
    )


def _within(name: str, most: int) -> str:
    """The name in so many characters at most; one that was cut says so."""
    return name if len(name) <= most else f"{name[: most - 1]}…"


def _entries(state: State, lines: Sequence[LogLine], chosen: Chosen) -> list[str]:
    return [
        f"{row.seq:>5} {row.time} {row.by:<4} {row.kind:<8} {row.subject:<26} {row.typed:<12} {row.now}"
        for row in _entry_rows(state, lines, chosen)
    ]


def _entry_rows(state: State, lines: Sequence[LogLine], chosen: Chosen) -> Iterator[LogRow]:
    fitting = (line for line in lines if chosen.takes(line.entry.at, line.entry.offset, line.entry.by))
    return (log_row(state, line) for line in fitting)


def sign(options: argparse.Namespace) -> int:
    """Signs a stage off; points that are out or unread are accepted by name, all else that is open in one go."""
    with open_session(options) as session:
        accept, state = point_names(session, options.accept), session.state
        area = state.plan.areas.get(options.area)
        known = area is not None and options.stage in area.stages
        asked = questions(state, options.area, options.stage) if options.accept_open and known else ()
        draft = actions.sign_off(session.state, options.area, options.stage, accept, options.remark, asked=asked)
        fact = session.record(draft).fact
        assert isinstance(fact, SignedOff)
        if options.json:
            print_json(options, dataclasses.asdict(fact))
        else:
            more = f"; accepted though out: {', '.join(fact.accepted)}" if fact.accepted else ""
            unread = f"; not read: {', '.join(fact.unread)}" if fact.unread else ""
            print(printable(f"{fact.area}, {fact.stage}: signed off by {session.by}{more}{unread}."))
            print(printable("".join(f"  accepted: {each}\n" for each in fact.asked)), end="")
    return 0


def day(options: argparse.Namespace) -> int:
    """Says what the weather was and who was there."""
    with open_session(options) as session:
        session.record(actions.describe_day(options.weather, options.crew))
        if options.json:
            print_json(options, {"weather": options.weather, "crew": options.crew})
        else:
            print(printable(f"Noted for the daily report: {options.weather}; {options.crew}."))
    return 0


def gauge(options: argparse.Namespace) -> int:
    """A step between units, or above a drain, measured directly; 1 when it is beyond its limit."""
    kind: Literal["lippage", "above drain"] = "lippage" if options.kind == "lippage" else "above drain"
    with open_session(options) as session:
        fact = session.record(actions.gauge(session.state, kind, options.area, options.where, options.reading)).fact
        assert isinstance(fact, Gauged)
        told = told_gauged(check_gauged(session.state, fact), session.plan.notation)
        if options.json:
            print_json(options, [{"says": told.says, "verdict": told.verdict, "source": told.source}])
        else:
            print(printable(line(told)))
        return 1 if told.verdict == "fault" else 0
