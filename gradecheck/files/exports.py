"""Daily reports as files: each is written whole or not at all, and never over anything of the job."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, in_english, language
from gradecheck.files.whole_files import write_whole
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.language import ENGLISH
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.model import Area
from gradecheck.report.daily_report import DailyReport, daily_report, days_of
from gradecheck.report.day_export import area_csv, day_json, message
from gradecheck.report.left import WorkOrder, order_csv, order_text, work_order
from gradecheck.report.page import day_page, work_order_page
from gradecheck.report.pdf import Paper, can_be_set, daily_report_pdf, work_order_pdf
from gradecheck.session.session import Session

ENDINGS = (".pdf", ".html", ".csv", ".json", ".txt")


def report_of(session: Session, day: date | None = None, *, whole: bool = False) -> DailyReport:
    """The report of a day, the last with entries where none is named, or of the whole job.

    Raises Refusal where nothing was recorded.
    """
    lines = session.all_lines()
    days = days_of(lines)
    if not days:
        raise Refusal(_("Nothing was recorded in this job yet; a daily report tells of what was."))
    if day is not None and day not in days:
        raise Refusal(
            _("Nothing was recorded on {day}; the last day with entries is {days}.", day=day, days=days[-1])
        )
    return daily_report(session.state, lines, None if whole else day or days[-1])


def ending_of(path: Path, endings: Iterable[str]) -> str:
    """The ending that says what to write. Raises Refusal where it is none of those that can be, on this machine."""
    ending = path.suffix.casefold()
    if ending not in endings:
        raise Refusal(
            _(
                "“{name}” does not say what to write; end it with {endings}.",
                name=path.name,
                endings=", ".join(endings),
            )
        )
    if ending == ".pdf" and not can_be_set():
        raise Refusal(
            _(
                "This machine can't make a PDF (it has no typst); end “{name}” with .html or .txt instead.",
                name=path.name,
            )
        )
    return ending


def for_paper(path: Path) -> Path:
    """The path with the ending of what this machine can make to be printed."""
    return path.with_suffix(".pdf" if can_be_set() else ".html")


def written_for_paper(path: Path) -> str:
    """The path of such a file as it is told, with why it is no PDF where it is none."""
    if path.suffix == ".pdf":
        return str(path)
    return _("{path} (a web page to print: this machine can't make a PDF)", path=path)


def write_daily_report(
    session: Session,
    path: Path,
    *,
    day: date | None = None,
    paper: Paper = "letter",
    report: DailyReport | None = None,
) -> list[Path]:
    """Writes the report as the ending of `path` says, and returns the files; CSV makes one for each area.

    A file of that ending is replaced, unless it belongs to the job. Raises Refusal, which names
    what was written all the same.
    """
    ending = ending_of(path, ENDINGS)
    if ending in (".json", ".csv") and language() != ENGLISH:
        report = in_english(report_of)(session, day)
    report = report or report_of(session, day)
    contents = _contents(report, path, ending, paper)
    targets = [path.parent / name for name in contents]
    for target in targets:
        refuse_own(session, target)
    write_whole(path.parent, contents)
    return targets


LEFT_ENDINGS = (".pdf", ".html", ".csv", ".txt")


def left_of(session: Session, areas: Sequence[Area] = (), stage: str | None = None) -> WorkOrder:
    """What is left now, of all areas where none is named, at the stages begun or at that one."""
    moment = session.clock.moment
    when = f"{moment:%Y-%m-%d}", f"{moment:%H:%M}"
    every = areas or tuple(session.state.plan.areas.values())
    return work_order(session.state, every, stage, when, old_setup=bool(session.why_set_up_is_old))


def write_left(session: Session, path: Path, order: WorkOrder, paper: Paper = "letter") -> Path:
    """Writes what is left as the ending of `path` says. Raises Refusal."""
    ending = ending_of(path, LEFT_ENDINGS)
    refuse_own(session, path)
    match ending:
        case ".pdf":
            content = work_order_pdf(order, paper)
        case ".html":
            content = work_order_page(order).encode()
        case ".csv":
            content = order_csv(order).encode("utf-8-sig")
        case _:
            content = order_text(order).encode()
    write_whole(path.parent, {path.name: content})
    return path


def _contents(report: DailyReport, path: Path, ending: str, paper: Paper) -> dict[str, bytes]:
    match ending:
        case ".pdf":
            return {path.name: daily_report_pdf(report, paper)}
        case ".json":
            return {path.name: (json.dumps(day_json(report), indent=1) + "\n").encode()}
        case ".html":
            return {path.name: day_page(report).encode()}
        case ".txt":
            return {path.name: message(report).encode()}
        case _:
            # The mark before the text tells a spreadsheet that it is UTF-8.
            texts = [(area.name, area_csv(report, area).encode("utf-8-sig")) for area in report.areas]
    if not texts:
        raise Refusal(_("Nothing was measured on {day}; there is no table to write.", day=report.day))
    if len(texts) == 1:
        return {path.name: texts[0][1]}
    names = _file_names([name for name, _ in texts])
    return {f"{path.stem}-{name}{path.suffix}": text for name, (_, text) in zip(names, texts, strict=True)}


def _file_names(areas: Sequence[str]) -> list[str]:
    """The areas' names, changed so that every system takes them in a file name and no two are alike."""
    found: list[str] = []
    for area in areas:
        plain = "".join(c if c.isalnum() else "-" for c in area).strip("-").casefold() or "area"
        others = sum(1 for other in found if other == plain or other.startswith(f"{plain}--"))
        found.append(f"{plain}--{others + 1}" if others else plain)
    return found


def refuse_own(session: Session, target: Path) -> None:
    """Refuses to write over the job's own files, and over anything but a plain file."""
    # os.path answers where pathlib raises: for names too long, and links that lead back to themselves.
    if os.path.isdir(target):
        raise Refusal(_("{target} is a folder; name a file.", target=target))
    if not os.path.isdir(target.parent):
        raise Refusal(_("There is no folder {parent}; make it first, or name another.", parent=target.parent))
    if os.path.lexists(target) and not os.path.isfile(target):
        raise Refusal(_("{target} is no file that can be written over; name another.", target=target))
    own = [PLAN_NAME, JOURNAL_NAME, *session.loaded.files, *(session.offered.files if session.offered else ())]
    for name in own:
        mine = session.folder / name
        there = os.path.exists(target) and os.path.exists(mine)
        if os.path.realpath(target) == os.path.realpath(mine) or (there and os.path.samefile(target, mine)):
            raise Refusal(_("{target} belongs to the job; name another file.", target=target))
