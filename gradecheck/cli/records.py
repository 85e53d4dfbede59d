"""Verbs on what was recorded: `log`, `verify`, `rescue` and `copy`."""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, count, plural
from gradecheck.cli.options import (
    DAY,
    OnJob,
    Reply,
    area_option,
    as_meeting_place,
    as_path,
    flag,
    named,
    on_session,
    option,
    output_option,
    verb,
)
from gradecheck.cli.shared import chosen, length_text, tell
from gradecheck.files.job_copy import copy_job
from gradecheck.journal.facts import Fact
from gradecheck.journal.ids import Ids
from gradecheck.journal.recovery.against import Comparison, ReadChain
from gradecheck.journal.recovery.health import copies, examine
from gradecheck.journal.recovery.missing import is_of_a_log
from gradecheck.journal.recovery.remains import Lost
from gradecheck.journal.recovery.rescue import rescue as write_rescued
from gradecheck.journal.recovery.rescue import take_its_place
from gradecheck.journal.short_hash import NoHashError, grouped_hash, typed_hash
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show_exact
from gradecheck.places import unfinished
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.names import as_known
from gradecheck.report.log import LogRow, briefly, log_csv, log_lengths, log_row
from gradecheck.report.soundness import fault, health_lines
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session, job_folder
from gradecheck.system.settings import this_laptop

if TYPE_CHECKING:
    from gradecheck.sharing.against import Compared


@dataclass(frozen=True, kw_only=True, slots=True)
class LogOptions(OnJob):
    area: str | None = area_option()
    day: str | None = option("--day", metavar=DAY)
    csv: bool = flag("--csv", _("for a spreadsheet"))


@on_session(LogOptions, apart=(("csv", "json"),))
def log(session: Session, options: LogOptions) -> Reply:
    """Everything recorded, in order: judged then, and judged now."""
    lines, area = session.all_lines(), options.area
    if area is not None:
        # One that the plan lacks now is asked for by what the journal says.
        recorded = dict.fromkeys(line.entry.area for line in lines if line.entry.area)
        area = as_known(area, [*session.plan.areas, *recorded]) or area
        lines = [line for line in lines if line.entry.area == area]
    chosen(session.plan, area, day=options.day, gone=[area] if area is not None and lines else [])
    rows = [(line.entry, log_row(session.state, line)) for line in lines]
    rows = [(entry, row) for entry, row in rows if options.day in (None, row.day)]
    if options.csv:
        return Reply(text=log_csv([row for _, row in rows]))
    notation = session.plan.notation

    def answer() -> list[dict[str, object]]:
        return [{**dataclasses.asdict(row), "lengths": _lengths(entry.fact, notation)} for entry, row in rows]

    return Reply(answer, (_log_line(row) for _, row in rows))


def _lengths(fact: Fact, notation: Notation) -> dict[str, object]:
    """What an entry holds in lengths, to the last part; those on screen are to the rod's marks."""
    return {
        name: length_text(length, show_exact(length, notation.units, unit=True)) for name, length in log_lengths(fact)
    }


def _log_line(row: LogRow) -> str:
    struck = "x" if row.struck else " "
    verdict = _("{then} (now {now})", then=row.then, now=row.now) if row.now not in ("", row.then) else row.then
    line = f"{row.seq:>5}{struck} {row.day} {row.time}{row.offset} {row.who:<4} {row.done:<9} {row.subject_line:<24} "
    return f"{line}{row.typed:<14} {verdict}".rstrip()


@dataclass(frozen=True, kw_only=True, slots=True)
class VerifyOptions(OnJob):
    hash: str | None = option(
        "--hash", metavar="HASH", help=_("a hash from a report you handed over, its number first")
    )
    against: Path | str | None = option(
        "--against",
        metavar="WHERE",
        type=as_meeting_place,
        help=_(
            "the same job in another folder, or the place where laptops share it: a folder or an office's address"
        ),
    )


@verb(VerifyOptions, by_code=True, needs_plan=False)
def verify(options: VerifyOptions) -> Reply:
    """Whether the journal is as it was written; 1 when it is not, with what to do then."""
    try:
        asked = typed_hash(options.hash) if options.hash is not None else None
    except NoHashError as wrong:
        raise Refusal(str(wrong)) from wrong
    journal, against = _journal(options.job), None
    meeting_place, compared = _where_laptops_meet(options)
    if meeting_place is None and isinstance(options.against, Path):
        against = options.against if _is_a_log(options.against) else _journal(options.against)
        if os.path.realpath(against) == os.path.realpath(journal) and not os.path.islink(against):
            raise Refusal(_("--against names the log of JOB itself; name one that was kept somewhere else."))
    found = examine(journal, against=against, called=str(options.against), asked=asked, hold_also=meeting_place)
    if found.asked is not None and (misread := found.asked.misread):
        groups = (
            _("Group {misread}", misread=misread[0])
            if len(misread) == 1
            else _("Groups {misread}", misread=_(" and ").join(map(str, misread)))
        )
        raise Refusal(
            _(
                "{groups} of the hash may be misread, the others fit an entry of this log. Check and try again.",
                groups=groups,
            )
        )
    if found.said:
        tell(found.said)
    answer = {
        "entries": found.entries,
        "of other laptops": found.theirs,
        "hash": found.last_hash,
        "hash to read out": grouped_hash(found.last_hash) if found.entries else "",
        "fault": fault(found),
        "behind": found.behind,
        "lost": _lost_json(found.lost),
        "backups": [dataclasses.asdict(copy) for copy in found.copies],
        "compared": [_held_json(each) for each in found.held],
        "not here yet": compared.not_here_yet,
        "less there": compared.less,
        **({"entry with hash": found.asked.seq or None} if found.asked is not None else {}),
    }
    says = [*health_lines(found, options.job), *_meeting_place_lines(compared)]
    return Reply(answer, says, code=0 if found.sound and not compared.less else 1)


def _where_laptops_meet(
    options: VerifyOptions,
) -> tuple[Callable[[ReadChain], Iterable[Comparison]] | None, Compared]:
    """What holds the log against what lies where laptops share it; None where something else is named."""
    from gradecheck.sharing.against import Compared, in_folder, is_meeting_place  # hardly ever needed

    compared, job = Compared(), job_folder(options.job)
    if isinstance(options.against, str):
        from gradecheck.office.address import address
        from gradecheck.office.against import at_office

        return at_office(address(options.against), job, this_laptop(), compared), compared
    if options.against is not None and is_meeting_place(options.against):
        return in_folder(options.against, job, this_laptop(), compared), compared
    return None, compared


def _meeting_place_lines(compared: Compared) -> Iterator[str]:
    if compared.not_here_yet:
        yield plural(
            compared.not_here_yet,
            "{n} entry there from other laptops is not here yet; the next share brings it.",
            "{n} entries there from other laptops are not here yet; the next share brings them.",
        )
    for less in compared.less:
        yield _("It holds less than it said it did: {less}. Tell the office.", less=less)


@dataclass(frozen=True, kw_only=True, slots=True)
class RescueOptions(OnJob):
    output: Path | None = output_option("NEW", _("the new journal, a name not yet taken"))
    in_place: bool = flag("--in-place", _("the new one takes the damaged one's name; that is moved aside"))


@verb(RescueOptions, by_code=True, needs_plan=False)
def rescue(options: RescueOptions) -> Reply:
    """A new journal from what a damaged one still holds; 1 when some of it could not be kept."""
    damaged = _journal(options.job)
    if (options.output is None) is not options.in_place:
        raise Refusal(_("Say where the rescued journal goes: -o NEW for a new file, or --in-place."))
    new = options.output or unfinished(damaged)
    if options.output is not None and is_of_a_log(options.output.name):
        raise Refusal(
            _("{output} is a name for files beside a log; give the new log another name.", output=options.output)
        )
    found = write_rescued(damaged, new, laptop=this_laptop(), at=now(), ids=Ids())
    aside = take_its_place(damaged, new) if options.in_place else None
    further = [each for each in copies(damaged) if each.entries > found.last]
    answer = {
        "kept": found.kept,
        "chained anew": found.chained_anew,
        "notes": found.notes,
        "hash": found.last_hash,
        "lost": _lost_json(found.lost),
        "backups": [dataclasses.asdict(each) for each in further],
    }
    says = [
        _(
            "Saved: {kept} as they were, {chained_anew} after a gap linked anew.",
            kept=count(found.kept, "entry", "entries"),
            chained_anew=found.chained_anew,
        ),
        *(_("Lost: {lost}", lost=each) for each in found.lost),
        *map(str, further),
        _("Written to {new}; {damaged} was not changed.", new=new, damaged=damaged)
        if aside is None
        else _("Written to {damaged}; the damaged log and its files are in {aside}.", damaged=damaged, aside=aside),
    ]
    return Reply(answer, says, code=1 if found.lost or further else 0, saved=True)


@dataclass(frozen=True, kw_only=True, slots=True)
class CopyOptions(OnJob):
    to: Path = named("NEW", type=as_path, help=_("a new folder"))


@on_session(CopyOptions)
def copy(session: Session, options: CopyOptions) -> Reply:
    """The job with its whole journal in a new folder."""
    if says := copy_job(session, options.to):
        tell(says)
    answer = {"copied": str(session.folder), "to": str(options.to), "entries": session.seq}
    return Reply(
        answer, [_("Copied to {to}; {folder} was not changed.", to=options.to, folder=session.folder)], saved=True
    )


def _journal(job: Path) -> Path:
    folder = job_folder(job)
    if not folder.is_dir():
        raise Refusal(_("There is no folder {folder}; check the name of the job.", folder=folder))
    return folder / JOURNAL_NAME


def _is_a_log(path: Path) -> bool:
    """Whether that names a log's own file, kept without the rest of its job, rather than a job."""
    return path.name != PLAN_NAME and path.is_file()


def _held_json(held: Comparison) -> dict[str, object]:
    answer: dict[str, object] = {
        "with": held.name,
        "outcome": held.outcome.value,
        "entries": held.last,
        "first": held.first or None,
    }
    if held.damaged:
        answer["damaged from"] = held.damaged
    for where, entry in (("there", held.there), ("here", held.here)):
        if entry is not None:
            answer[where] = briefly(entry)
    return {**answer, "missing": [each.seq for each in held.missing]} if held.missing else answer


def _lost_json(lost: Sequence[Lost]) -> list[dict[str, object]]:
    return [{"seq": each.first, "to": each.last, "why": each.why} for each in lost]
