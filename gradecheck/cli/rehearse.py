"""The verb `rehearse`: a crew's days, made up from a seed, in a journal of their own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count, in_english, plural
from gradecheck.cli.options import DAY, OnJob, Reply, as_path, option, verb
from gradecheck.cli.shared import day_named
from gradecheck.files.whole_files import write_whole
from gradecheck.journal.ids import Ids
from gradecheck.places import make_folders
from gradecheck.plan.load import PLAN_NAME, load_plan
from gradecheck.rehearsal import Clock, Rehearsal
from gradecheck.rehearsal import rehearse as made_up
from gradecheck.report.cautions import day_cautions
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder

MORNING = time(6, 45)
MOST_DAYS, MOST_A_DAY = 60, 1_500


@dataclass(frozen=True, kw_only=True, slots=True)
class RehearseOptions(OnJob):
    output: Path = option(
        "-o", "--output", metavar="FOLDER", type=as_path, required=True, help=_("a new folder for the rehearsal")
    )
    seed: int = option("--seed", metavar="N", type=int, default=1, help=_("same seed, same days"))
    readings: int = option("--readings", metavar="N", type=int, default=150, help=_("about how many in all"))
    days: int = option("--days", metavar="D", type=int, default=1, help=_("how many working days in a row"))
    day: str | None = option("--day", metavar=DAY, help=_("the last day; today if left out"))


@verb(RehearseOptions)
def rehearse(options: RehearseOptions) -> Reply:
    """Makes up a crew's days in a folder of their own; the job itself is only read."""
    folder, job = options.output, job_folder(options.job)
    _refuse_nonsense(options)
    last = _day(options.day)
    loaded = load_plan(job / PLAN_NAME)
    _refuse_taken(folder)
    try:
        make_folders(folder)
    except OSError as wrong:
        raise Refusal(
            _(
                "{folder} can't be written to ({reason}); name another folder.",
                folder=folder,
                reason=wrong.strerror,
            )
        ) from wrong
    texts = {PLAN_NAME: loaded.text, **loaded.files}
    write_whole(folder, {name: text.encode() for name, text in texts.items()})
    made_up = rehearsed(folder, options.seed, last, readings=options.readings, days=options.days)
    people = [person.initials for person in made_up.people]
    answer = {
        "folder": str(folder),
        "seed": made_up.seed,
        "entries": made_up.entries,
        "readings": len(made_up.taken),
        "people": people,
        "last day": last.isoformat(),
    }
    made = _(
        "{entries}, {readings} by {people}",
        entries=count(made_up.entries, "entry", "entries"),
        readings=count(len(made_up.taken), "reading"),
        people=", ".join(people),
    )
    lines = [
        _("Rehearsal in {folder}: {made}.", folder=folder, made=made),
        _("Made up from seed {seed}: practice only, not a record of work.", seed=made_up.seed),
    ]
    return Reply(answer, lines, saved=True)


@in_english
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


def _refuse_nonsense(options: RehearseOptions) -> None:
    if not 1 <= options.days <= MOST_DAYS:
        raise Refusal(_("A rehearsal has 1 to {most} days, not {days}.", most=MOST_DAYS, days=options.days))
    most = MOST_A_DAY * options.days
    if not options.days <= options.readings <= most:
        raise Refusal(
            plural(
                options.days,
                "{readings} readings do not fit in a day; give {n} to {most}.",
                "{readings} readings do not fit in {n} days; give {n} to {most}.",
                readings=options.readings,
                most=most,
            )
        )


def _day(text: str | None) -> date:
    day = day_named(text) or now().date()
    if not 1971 <= day.year <= 9000:
        raise Refusal(_("No crew works in the year {year}; check the day.", year=day.year))
    return day


def _refuse_taken(folder: Path) -> None:
    try:
        taken = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as wrong:
        raise Refusal(
            _(
                "{folder} can't be read ({reason}); name another folder.",
                folder=folder,
                reason=wrong.strerror,
            )
        ) from wrong
    if taken:
        raise Refusal(
            _("{folder} is there already and not empty; a rehearsal needs a folder of its own.", folder=folder)
        )
