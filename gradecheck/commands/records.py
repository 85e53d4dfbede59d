"""Commands on what was recorded: `log` and `verify`."""

from __future__ import annotations

import argparse
import sys

from gradecheck.commands.shared import open_session, print_json, printable
from gradecheck.journal.store import FILE_NAME, Journal
from gradecheck.report.export import log_csv, log_json
from gradecheck.report.log import log_row
from gradecheck.session import job_folder


def log(options: argparse.Namespace) -> int:
    """Everything recorded, in order: judged then, and judged now."""
    with open_session(options) as session:
        rows = [log_row(session.state, line) for line in session.lines(options.area, limit=10**9)]
        rows = [row for row in rows if options.day in (None, row.day)]
        if options.json:
            print_json(log_json(rows))
        elif options.csv:
            sys.stdout.write(log_csv(rows))
        else:
            for row in rows:
                struck = "x" if row.struck else " "
                told = f"{row.then} (now {row.now})" if row.now not in ("", row.then) else row.then
                line = f"{row.seq:>5}{struck} {row.day} {row.time} {row.by:<4} {row.kind:<8} {row.subject:<24} "
                print(printable(f"{line}{row.typed:<14} {told}").rstrip())
    return 0


def verify(options: argparse.Namespace) -> int:
    """Whether the journal is as it was written; 1 when it is not."""
    journal = Journal(job_folder(options.job) / FILE_NAME)
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
