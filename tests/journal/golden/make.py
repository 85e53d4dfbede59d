"""Makes the golden journal of the format of today; run once when a format is released, never again for that format.

``python -m tests.journal.golden.make`` writes ``format-N.db`` beside this file and refuses where there is one.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from gradecheck.journal import schema
from gradecheck.journal.chain import START, Row, to_row
from gradecheck.journal.facts import (
    Backsight,
    CautionsRead,
    Draft,
    InstrumentMoved,
    Judged,
    MarkMade,
    Note,
    PlanRevised,
    Reading,
    Rechecked,
    SetupMade,
    Void,
)
from gradecheck.journal.store import Journal
from gradecheck.measure.quantities import Elevation, Length, inches
from gradecheck.measure.verdict_words import Word
from tests.journal.drafts import draft

FOLDER = Path(__file__).parent
DOOR = Backsight("DOOR", inches(50), Elevation(inches(0).metres))


def reading(name: str, point: str, rod: Length, found: Length, *, replaces: str | None = None) -> Draft:
    """A reading on the walk."""
    judged = Judged(Elevation(found.metres), Elevation(inches(-3).metres), inches(1), inches(1), Word.ON_GRADE)
    fact = Reading("walk", point, "finish", "set-up", rod, judged)
    return draft(fact, name, typed="53", replaces=replaces, minutes=30)


DRAFTS = (
    draft(PlanRevised("ab12", "job: Wickering Yard\n" + "# long enough to run over a page\n" * 200), "plan"),
    draft(CautionsRead(("Locate services before any dig.",)), "cautions"),
    draft(SetupMade("site rod", (DOOR,)), "set-up", typed="50", minutes=10),
    reading("one", "W1", inches(53), inches(-3)),
    reading("two", "W2", inches(54), inches(-4)),
    reading("two again", "W2", inches(53), inches(-3), replaces="two"),
    draft(Note("walk", "rain from ten — “stopped”, ⅜ of an hour"), "note", typed="rain"),
    draft(Void("keyed twice"), "void", replaces="one"),
    draft(Rechecked("set-up", "DOOR", inches(50), inches(0), good=True), "recheck", typed="50"),
    draft(MarkMade("TP1", "lid", "set-up", inches(49)), "mark", typed="49"),
    draft(InstrumentMoved("spoil in the way"), "moved"),
)
"""What stands in it, in order."""
KNOWING = draft(Note("walk", "south's readings are here"), "knowing", minutes=60)
"""From format 2 on it took in what another laptop recorded, and this entry says so."""


def theirs() -> list[Row]:
    """Two rows of another laptop, which began apart."""
    rows: list[Row] = []
    for made in (draft(Note("walk", "begun"), "s1"), draft(Note("walk", "done"), "s2", minutes=20)):
        made = replace(made, laptop="south")
        rows.append(to_row(made, len(rows) + 1, rows[-1][-1] if rows else START))
    return rows


def golden(number: int) -> Path:
    """Where the golden journal of that format lies."""
    return FOLDER / f"format-{number}.db"


def main() -> None:
    """Makes it."""
    path = golden(schema.FORMAT)
    if path.exists():
        raise SystemExit(f"{path.name} was made when that format was released and is never made again")
    journal = Journal(path)
    journal.append(DRAFTS)
    journal.take_in(theirs())
    journal.append([KNOWING])
    journal.close()


if __name__ == "__main__":
    main()
