"""The command that makes the day's printed record: `report`."""

from __future__ import annotations

import argparse

from gradecheck.actions import Refusal
from gradecheck.commands.shared import day_named, open_session, print_json, printable
from gradecheck.files.exports import sheet_of, write_day_sheet
from gradecheck.report.day_export import day_json, message


def report(options: argparse.Namespace) -> int:
    """Writes the daily report as the ending of FILE says; without one, says the day in ten lines."""
    day = day_named(options.day)
    if options.paper is not None and (options.output is None or options.output.suffix.casefold() != ".pdf"):
        raise Refusal("--paper is for a daily report on paper: -o FILE.pdf.")
    with open_session(options) as session:
        sheet = sheet_of(session, day)
        if options.output is None:
            if options.json:
                print_json(options, day_json(sheet))
            else:
                print(printable(message(sheet)), end="")
            return 0
        written = write_day_sheet(session, options.output, paper=options.paper or "letter", sheet=sheet)
        options.saved = True
    if options.json:
        trace = sheet.trace
        print_json(
            options,
            {
                "day": sheet.day,
                "files": [str(path) for path in written],
                "entries": trace.entries,
                "last": trace.journal_last,
                "hash": trace.journal_hash,
                "hash to read out": trace.journal_hash_short,
            },
        )
    else:
        for path in written:
            print(printable(f"{sheet.day}: written to {path}."))
    return 0
