"""Commands on what was recorded: `log` and `verify`."""

from __future__ import annotations

import argparse
import datetime
import sys

from gradecheck.commands.shared import open_session, print_json, printable
from gradecheck.intake import Refusal
from gradecheck.journal.store import FILE_NAME, Journal
from gradecheck.report.export import log_csv, log_json
from gradecheck.report.log import log_row
from gradecheck.session import job_folder


def log(options: argparse.Namespace) -> int:
    """Everything recorded, in order: judged then, and judged now."""
    if options.day is not None and not _is_day(options.day):
        raise Refusal(f"“{options.day}” is no day; write it like 2026-05-12.")
    with open_session(options) as session:
        lines = session.lines(options.area, limit=10**9)
        known = [*session.plan.areas, *(line.entry.area for line in lines)]
        if options.area is not None and options.area not in known:
            areas = session.plan.areas
            raise Refusal(f"There is no area “{options.area}”; known are {', '.join(areas)}.")
        rows = [log_row(session.state, line) for line in lines]
        rows = [row for row in rows if options.day in (None, row.day)]
        if options.json:
            print_json(log_json(rows))
        elif options.csv:
            sys.stdout.write(printable(log_csv(rows)))
        else:
            for row in rows:
                struck = "x" if row.struck else " "
                told = f"{row.then} (now {row.now})" if row.now not in ("", row.then) else row.then
                line = f"{row.seq:>5}{struck} {row.day} {row.time} {row.by:<4} {row.kind:<8} {row.subject:<24} "
                print(printable(f"{line}{row.typed:<14} {told}").rstrip())
    return 0


def _is_day(text: str) -> bool:
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def verify(options: argparse.Namespace) -> int:
    """Whether the journal is as it was written; 1 when it is not."""
    folder = job_folder(options.job)
    if not folder.is_dir():
        raise Refusal(f"There is no folder {folder}; check the name of the job.")
    journal = Journal(folder / FILE_NAME)
    try:
        soundness = journal.verify()
    finally:
        journal.close()
    if options.json:
        print_json({"entries": soundness.entries, "hash": soundness.last_hash, "fault": soundness.fault})
    elif soundness.fault:
        print(printable(f"Not sound: {soundness.fault}"))
    else:
        print(f"Sound: {soundness.entries} entries, last hash {soundness.last_hash[:16]}.")
    return 1 if soundness.fault else 0
