"""What an office exchanges: `asbuilt`, what was built as a list or a drawing."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.commands.shared import chosen, length_json, open_session, print_json, printable, tell
from gradecheck.exchange.as_built import as_built
from gradecheck.exchange.table import Table, csv_text
from gradecheck.exchange.writers import ENDINGS, NEED_PLACES
from gradecheck.files.exports import refuse_own
from gradecheck.files.whole_files import write_whole
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import count
from gradecheck.measure.quantities import Length
from gradecheck.session.clock_watch import now


def asbuilt(options: argparse.Namespace) -> int:
    """The last reading at every point, or all of them, as FILE's ending says; as CSV on stdout without one."""
    ending = ending_of(options.output) if options.output is not None else ""
    with open_session(options) as session:
        state, lines = session.state, session.all_lines()
        recorded = [line.entry.area for line in lines if line.entry.area is not None]
        areas = {area.name for area in chosen(session.plan, options.area, gone=recorded)} or {options.area}
        if options.area is None:
            areas |= set(recorded)  # an area that the plan lost since was built all the same
        table = as_built(state, lines, areas, every=options.all)
        if options.output is not None:
            refuse_own(session, options.output)
            written = ENDINGS[ending](table, now(), "existing")
            write_whole(options.output.parent, {options.output.name: written})
            options.saved = True
            tell_left_out(table, ending)
        if state.datum is not None:
            tell(f"Elevations count from the job's own zero; on site they are shown from {state.datum}.")
        if options.json:
            notation, last = session.plan.notation, lines[-1].entry if lines else None
            print_json(
                options,
                {
                    "job": session.plan.job,
                    "log to entry": last.seq if last else 0,
                    "hash": last.hash if last else "",
                    "written": [str(options.output)] if options.output is not None else [],
                    "rows": rows_json(table, notation),
                },
            )
        elif options.output is not None:
            print(printable(f"{count(len(table.rows), 'reading')} written to {options.output}."))
        else:
            sys.stdout.write(printable(csv_text(table).replace("\r\n", "\n")))
    return 0


def ending_of(path: Path) -> str:
    """The ending that says what to write. Raises Refusal where it is none of those that can be."""
    ending = path.suffix.casefold()
    if ending not in ENDINGS:
        raise Refusal(f"“{path.name}” does not say what to write; end it with {', '.join(ENDINGS)}.")
    return ending


def tell_left_out(table: Table, ending: str) -> None:
    """How many rows have no place in a drawing, where there are some."""
    lost = sum(1 for row in table.rows if table.at(row) is None) if ending in NEED_PLACES else 0
    if lost:
        tell(f"{count(lost, 'point')} of {len(table.rows)} without x and y left out of the drawing.")


def rows_json(table: Table, notation: Notation) -> list[dict[str, object]]:
    """The rows as plain values."""
    return [
        {
            name: length_json(value, notation) if isinstance(value, Length) else value
            for name, value in zip(table.columns, row, strict=True)
        }
        for row in table.rows
    ]
