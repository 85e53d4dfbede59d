"""Takes back one's own last reading, correction of a reading, or strike: what was there before counts again."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.actions import Action, Refusal
from gradecheck.catalogue import _
from gradecheck.journal.facts import Entry, Reading, Void
from gradecheck.journal.store import Journal

UNDO, UNDONE = "undo", "undone"
"""What is typed, and the reason given, where a reading is taken back."""


def undo(journal: Journal, by: str) -> Action:
    """What reverses that person's last act. Raises Refusal where there is none.

    An undo is no act of its own: asked again, it goes on to the act before.
    """
    laptops = journal.joined
    for entry in newest_first(journal):
        if laptops is not None and not laptops.is_own(entry.seq):
            continue  # another laptop's, by whomever
        if entry.by != by or not isinstance(entry.fact, Reading | Void) or _undone_by(journal, entry) is not None:
            continue
        place = journal.first_and_last(entry.id)
        if place is not None and _act_of(journal, place[1]).id == entry.id:  # else it was undone or changed since
            before = _replaced(journal, entry)
            fact, typed = (before.fact, before.typed) if before is not None else (Void(UNDONE), UNDO)
            return Action(fact, typed, place[1].id)
    raise Refusal(_("{by} has no reading or strike to undo.", by=by or _("Nobody")))


def newest_first(journal: Journal) -> Iterator[Entry]:
    """All entries, the newest first."""
    before = None
    while lines := journal.lines(before=before, limit=100):
        yield from (line.entry for line in reversed(lines))
        before = lines[0].entry.seq


def _replaced(journal: Journal, entry: Entry) -> Entry | None:
    return journal.find(entry.replaces) if entry.replaces is not None else None


def _undone_by(journal: Journal, entry: Entry) -> Entry | None:
    """The reading, correction or strike that the entry undid, None where it is no undo."""
    replaced = _replaced(journal, entry)
    if replaced is None:
        return None
    act = _act_of(journal, replaced)
    if entry.fact == Void(UNDONE) and entry.typed == UNDO:
        return act
    before = _replaced(journal, act)
    return act if before is not None and before.fact == entry.fact else None


def _act_of(journal: Journal, entry: Entry) -> Entry:
    """The entry itself or, where it only put one back, that one."""
    undone = None if isinstance(entry.fact, Void) else _undone_by(journal, entry)
    before = None if undone is None else _replaced(journal, undone)
    return entry if before is None else _act_of(journal, before)
