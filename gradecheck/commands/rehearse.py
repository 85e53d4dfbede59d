"""The command `rehearse`: a crew's days, made up from a seed, in a journal of their own."""

from __future__ import annotations

import argparse
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random

from gradecheck.actions import Refusal
from gradecheck.commands.shared import day_named, print_json, printable
from gradecheck.files.whole_files import write_whole
from gradecheck.journal.ids import Ids
from gradecheck.places import make_folders
from gradecheck.plan.load import FILE_NAME, load_plan
from gradecheck.rehearsal import Clock, Rehearsal
from gradecheck.rehearsal import rehearse as made_up
from gradecheck.report.cautions import day_cautions
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder

MORNING = time(6, 45)
MOST_DAYS, MOST_A_DAY = 60, 1_500


def rehearse(options: argparse.Namespace) -> int:
    """Makes up a crew's days in a folder of their own; the job itself is only read."""
    folder, job = options.output, job_folder(options.job)
    _refuse_nonsense(options)
    last = _day(options.day)
    loaded = load_plan(job / FILE_NAME)
    _refuse_taken(folder)
    try:
        make_folders(folder)
    except OSError as wrong:
        raise Refusal(f"{folder} can't be written to ({wrong.strerror}); name another folder.") from wrong
    texts = {FILE_NAME: loaded.text, **loaded.files}
    write_whole(folder, {name: text.encode() for name, text in texts.items()})
    told = rehearsed(folder, options.seed, last, readings=options.readings, days=options.days)
    options.saved = True
    if options.json:
        print_json(
            options,
            {
                "folder": str(folder),
                "seed": told.seed,
                "entries": told.entries,
                "readings": len(told.taken),
                "people": [person.initials for person in told.people],
                "last day": last.isoformat(),
            },
        )
    else:
        people = ", ".join(person.initials for person in told.people)
        print(printable(f"Rehearsal in {folder}: {told.entries} entries, {len(told.taken)} readings by {people}."))
        print(f"Made up from seed {told.seed}: practice only, not a record of work.")
    return 0


def rehearsed(folder: Path, seed: int, last: date, *, readings: int = 150, days: int = 1) -> Rehearsal:
    """The days up to that one, made up in a folder that holds a job file and no journal."""
    # The offset from UTC of the first morning holds for all days: the same seed and day, the same journal.
    clock = Clock(datetime.combine(last - timedelta(days=days - 1), MORNING).astimezone())
    ids = Ids(lambda: int(clock().timestamp()) * 1000, Random(f"ids {seed}").randbytes)  # noqa: S311 - no secret
    session = Session(folder, laptop="rehearsal", clock=clock, ids=ids)
    try:
        return made_up(session, clock, seed, readings=readings, days=days, cautions=day_cautions(session.plan))
    finally:
        session.close()


def _refuse_nonsense(options: argparse.Namespace) -> None:
    if not 1 <= options.days <= MOST_DAYS:
        raise Refusal(f"A rehearsal has 1 to {MOST_DAYS} days, not {options.days}.")
    most = MOST_A_DAY * options.days
    if not options.days <= options.readings <= most:
        days = "a day" if options.days == 1 else f"{options.days} days"
        raise Refusal(f"{options.readings} readings do not fit {days}; give {options.days} to {most}.")


def _day(text: str | None) -> date:
    day = day_named(text) or now().date()
    if not 1971 <= day.year <= 9000:
        raise Refusal(f"No crew works in the year {day.year}; check the day.")
    return day


def _refuse_taken(folder: Path) -> None:
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as wrong:
        raise Refusal(f"{folder} can't be looked into ({wrong.strerror}); name another folder.") from wrong
    if taken:
        raise Refusal(f"{folder} is there already and not empty; a rehearsal wants a folder of its own.")
