"""The soak: a crew's week at the keys, and every number of its last daily report worked out anew by hand."""

from __future__ import annotations

import contextlib
import copy
import hashlib
import io
import json
import sqlite3
from collections import Counter
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from statistics import median

from gradecheck.cli import main
from tests.faults.by_hand_report import Sheet
from tests.faults.figures import Figures
from tests.faults.soak_report import Held, Said, hold_csv, hold_json, hold_pdf, hold_text
from tests.faults.soak_week import HAPPENINGS, MONDAY, Week

__all__ = ["HAPPENINGS", "LONG", "NAME", "QUICK", "run"]

NAME = "soak"
QUICK, LONG = 100, 10_000
LAST_DAY = (MONDAY + timedelta(days=4)).strftime("%Y-%m-%d")


def run(folder: Path, readings: int, seed: int) -> list[Figures]:
    """A week of about so many readings and its last daily report, then reports and journals with one thing wrong."""
    folder.mkdir(parents=True, exist_ok=True)
    week = Week(folder / "job", readings, seed)
    week.run()
    rows = [_week(week, seed)]
    files = _written(week.crew.folder, folder)
    hand = Sheet(week.crew.folder / "job.yaml", week.crew.folder / "journal.db", LAST_DAY).all()
    held = hold(hand, files)
    counts = {"numbers": held.numbers, "readings": len(files.told_readings())}
    rows.append(Figures(NAME, "its last daily report", counts, len(held.wrong), example="; ".join(held.wrong[:5])))
    rows.append(_one_figure_changed(hand, files))
    rows.append(_one_entry_left_out(week.crew.folder, folder, files))
    return rows


def _week(week: Week, seed: int) -> Figures:
    """What was done; anything lost, doubled or out of order has already failed."""
    read = sum(kind == "reading" for kind, _, _ in week.crew.kept)
    waits = [round(median(day) * 1000) if day else 0 for day in week.waits]
    counts = {
        "readings": read, "entries": len(week.crew.kept), "acknowledged": week.crew.acknowledged,
        "asked": week.crew.questions, "starts": week.crew.starts, **dict(sorted(week.counts.items())),
        "ms to saved, first day": waits[0], "ms to saved, last day": waits[-1],
    }  # fmt: skip
    lost = Counter(week.crew.kept) - Counter(week.crew.recorded())
    return Figures(NAME, "a week", counts, lost.total(), example=f"seed {seed}: {lost}" if lost else "")


# -- the reports


class Files:
    """The last daily report in every form."""

    def __init__(self, json_: Path, csv: list[Path], text: Path, pdf: Path) -> None:
        self.told: Said = json.loads(json_.read_text(encoding="utf-8"))
        self.csv, self.text, self.pdf = csv, text.read_text(encoding="utf-8"), pdf

    def told_readings(self) -> list[Said]:
        """The readings on it."""
        return [each for area in self.told["areas"] for stage in area["stages"] for each in stage["readings"]]


def _written(job: Path, to: Path) -> Files:
    """Has the program write it; the PDF is the one that the app wrote in the evening, to the last byte."""
    for ending in ("json", "csv", "txt", "pdf"):
        with contextlib.redirect_stdout(io.StringIO()):
            assert main(["report", str(job), "--day", LAST_DAY, "-o", str(to / f"day.{ending}")]) == 0
    pdf = to / "day.pdf"
    assert pdf.read_bytes() == (job / f"daily-report-{LAST_DAY}.pdf").read_bytes(), "the app wrote another report"
    areas = json.loads((to / "day.json").read_text(encoding="utf-8"))["areas"]
    tables = [to / f"day-{area['name'].replace(' ', '-')}.csv" for area in areas]
    return Files(to / "day.json", tables if len(tables) > 1 else [to / "day.csv"], to / "day.txt", pdf)


def hold(hand: Said, files: Files) -> Held:
    """All forms of the report against the one by hand."""
    held = Held()
    hold_json(hand, files.told, held)
    hold_csv(hand, files.csv, held)
    hold_text(hand, files.text, held)
    hold_pdf(hand, files.pdf, held)
    return held


# -- with one thing wrong


def _one_figure_changed(hand: Said, files: Files) -> Figures:
    """One figure of each form is another by as little as there is; each has to be noticed."""
    reading = len(files.told_readings()) // 2
    seq = files.told_readings()[reading]["seq"]

    def in_json(held: Held) -> None:
        told = copy.deepcopy(files.told)
        files_of = [each for area in told["areas"] for stage in area["stages"] for each in stage["readings"]]
        files_of[reading]["found"]["mm"] += 0.0001
        hold_json(hand, told, held)

    def in_counts(held: Held) -> None:
        told = copy.deepcopy(files.told)
        told["summary"][0]["within"] += 1
        hold_json(hand, told, held)

    def in_csv(held: Held) -> None:
        [file] = [each for each in files.csv if f"\n{seq}," in each.read_text(encoding="utf-8-sig")]
        lines = file.read_text(encoding="utf-8-sig").split("\n")
        changed = [line.replace(" in,", "1 in,", 1) if line.startswith(f"{seq},") else line for line in lines]
        other = file.with_suffix(".changed")
        other.write_text("\n".join(changed), encoding="utf-8-sig")
        hold_csv(hand, [other if each == file else each for each in files.csv], held)

    def in_text(held: Held) -> None:
        hold_text(hand, files.text.replace(" readings by", "0 readings by"), held)

    def in_pdf(held: Held) -> None:
        other = copy.deepcopy(hand)
        area = next(each for each in other["areas"] if any(stage["readings"] for stage in each["stages"]))
        area["stages"][0]["readings"][0]["rod"]["text"] = "1/16 in"
        hold_pdf(other, files.pdf, held)

    return _caught("one figure changed", (in_json, in_counts, in_csv, in_text, in_pdf))


def _caught(what: str, ways: tuple[Callable[[Held], None], ...]) -> Figures:
    """How many of these are noticed; it has to be all of them."""
    unseen = []
    for way in ways:
        held = Held()
        way(held)
        if not held.wrong:
            unseen.append(way.__name__)
    counts = {"changed": len(ways), "noticed": len(ways) - len(unseen)}
    return Figures(NAME, what, counts, 0 if unseen else len(ways), control=True, example=f"unnoticed: {unseen}")


def _one_entry_left_out(job: Path, to: Path, files: Files) -> Figures:
    """Journals that lack an entry: from their midst, at their end, or with the chain forged behind it."""
    rows = _rows(job / "journal.db")
    middle = max(place for place, row in enumerate(rows) if row[5] == "reading")

    def compared(held: Held, left: list[Row]) -> None:
        journal = to / "left-out.db"
        _lay_down(journal, left)
        try:
            hold_json(Sheet(job / "job.yaml", journal, LAST_DAY).all(), files.told, held)
        except (ValueError, KeyError, AssertionError) as wrong:
            held.wrong.append(str(wrong))

    def in_its_midst(held: Held) -> None:
        compared(held, [*rows[:middle], *rows[middle + 1 :]])

    def at_its_end(held: Held) -> None:
        compared(held, rows[:-1])

    def with_a_forged_chain(held: Held) -> None:
        compared(held, _chained([*rows[:middle], *rows[middle + 1 :]]))

    return _caught("one entry left out", (in_its_midst, at_its_end, with_a_forged_chain))


Row = tuple[object, ...]


def _rows(journal: Path) -> list[Row]:
    with contextlib.closing(sqlite3.connect(journal)) as connection:
        return connection.execute("SELECT * FROM entry ORDER BY seq").fetchall()


def _lay_down(journal: Path, rows: list[Row]) -> None:
    """A file with these rows and no guards."""
    journal.unlink(missing_ok=True)
    with contextlib.closing(sqlite3.connect(journal)) as connection, connection:
        connection.execute(
            "CREATE TABLE entry (seq, id, laptop, window, by, kind, area, typed, at, utc_offset, version, plan, "
            "replaces, fact, previous, hash)"
        )
        connection.executemany(f"INSERT INTO entry VALUES ({', '.join('?' * 16)})", rows)  # noqa: S608


def _chained(rows: list[Row]) -> list[Row]:
    """The rows numbered and chained anew, as a forger would who knows how."""
    previous, found = "0" * 64, []
    for seq, row in enumerate(rows, 1):
        content = [seq, *row[1:-2], previous]
        text = json.dumps(content, separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256(text.encode()).hexdigest()
        found.append((*content, previous))
    return found
