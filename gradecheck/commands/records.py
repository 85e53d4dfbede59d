"""Commands on what was recorded: `log`, `verify`, `rescue` and `copy`."""

from __future__ import annotations

import argparse
import dataclasses
import sys
from collections.abc import Sequence
from pathlib import Path

from gradecheck.commands.shared import chosen, open_session, print_json, printable, tell
from gradecheck.files.elsewhere import copy_job
from gradecheck.intake import Refusal
from gradecheck.intake.names import as_known
from gradecheck.journal.health import advice, copies, examine
from gradecheck.journal.ids import Ids
from gradecheck.journal.remains import Lost
from gradecheck.journal.rescue import rescue as write_rescued
from gradecheck.journal.rescue import take_its_place
from gradecheck.journal.store import FILE_NAME
from gradecheck.places import unfinished
from gradecheck.report.export import log_csv, log_json
from gradecheck.report.log import log_row
from gradecheck.session.session import job_folder, now
from gradecheck.system.settings import laptop_id


def log(options: argparse.Namespace) -> int:
    """Everything recorded, in order: judged then, and judged now."""
    with open_session(options) as session:
        lines = session.all_lines()
        area = options.area
        if area is not None:
            # One that the plan lacks now is asked for by what the journal says.
            recorded = dict.fromkeys(line.entry.area for line in lines if line.entry.area)
            area = as_known(area, [*session.plan.areas, *recorded]) or area
            lines = [line for line in lines if line.entry.area == area]
        chosen(session.plan, area, day=options.day, gone=[area] if lines else [])
        rows = [log_row(session.state, line) for line in lines]
        rows = [row for row in rows if options.day in (None, row.day)]
        if options.json:
            print_json(options, log_json(rows))
        elif options.csv:
            sys.stdout.write(printable(log_csv(rows)))
        else:
            for row in rows:
                struck = "x" if row.struck else " "
                told = f"{row.then} (now {row.now})" if row.now not in ("", row.then) else row.then
                line = f"{row.seq:>5}{struck} {row.day} {row.time} {row.by:<4} {row.done:<9} {row.told:<24} "
                print(printable(f"{line}{row.typed:<14} {told}").rstrip())
    return 0


def verify(options: argparse.Namespace) -> int:
    """Whether the journal is as it was written; 1 when it is not, with what to do then."""
    found = examine(_journal(options))
    if options.json:
        print_json(
            options,
            {
                "entries": found.entries,
                "hash": found.last_hash,
                "fault": found.fault,
                "behind": found.behind,
                "lost": _lost_json(found.lost),
                "backups": [dataclasses.asdict(copy) for copy in found.copies],
            },
        )
    elif found.fault:
        for line in (f"Not sound: {found.fault}", *advice(found, options.job)):
            print(printable(line))
    else:
        print(f"Sound: {found.entries} entries, last hash {found.last_hash[:16]}.")
    if found.said:
        tell(found.said)
    return 1 if found.fault else 0


def rescue(options: argparse.Namespace) -> int:
    """A new journal from what a damaged one still holds; 1 when some of it could not be kept."""
    damaged = _journal(options)
    if (options.output is None) is not options.in_place:
        raise Refusal("Say where the rescued journal goes: -o NEW for a file of its own, or --in-place.")
    new = options.output or unfinished(damaged)
    found = write_rescued(damaged, new, laptop=laptop_id(), at=now(), ids=Ids())
    options.saved = True
    aside = take_its_place(damaged, new) if options.in_place else None
    further = [each for each in copies(damaged) if each.entries > found.last]
    if options.json:
        told = {"kept": found.kept, "chained anew": found.chained_anew, "notes": found.notes, "hash": found.last_hash}
        print_json(
            options,
            {**told, "lost": _lost_json(found.lost), "backups": [dataclasses.asdict(each) for each in further]},
        )
    else:
        print(f"Kept: {found.kept} entries as they were, {found.chained_anew} behind a gap chained anew.")
        for each in found.lost:
            print(printable(f"Lost: {each}"))
        for each_copy in further:
            print(printable(str(each_copy)))
        if aside is not None:
            print(printable(f"Written to {damaged}; the damaged one and all that belongs to it are in {aside}."))
        else:
            print(printable(f"Written to {new}; {damaged} was left as it is."))
    return 1 if found.lost or further else 0


def copy(options: argparse.Namespace) -> int:
    """The job with its whole journal in a new folder."""
    with open_session(options) as session:
        says = copy_job(session, options.to)
        options.saved = True
        if options.json:
            print_json(options, {"copied": str(session.folder), "to": str(options.to), "entries": session.seq})
        else:
            print(printable(f"Copied to {options.to}; {session.folder} was left as it is."))
        if says:
            tell(says)
    return 0


def _journal(options: argparse.Namespace) -> Path:
    folder = job_folder(options.job)
    if not folder.is_dir():
        raise Refusal(f"There is no folder {folder}; check the name of the job.")
    return folder / FILE_NAME


def _lost_json(lost: Sequence[Lost]) -> list[dict[str, object]]:
    return [{"seq": each.first, "to": each.last, "why": each.why} for each in lost]
