"""What people say beside figures: who they are, that the cautions were read, notes, and why an entry is struck."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.intake.shared import Refusal, said
from gradecheck.journal.facts import CautionsRead, Note, Void

LONGEST_INITIALS = 8


def initials(typed: str) -> str:
    """Who it is, in capitals."""
    plain = typed.strip().upper()
    if not plain.isalnum() or not plain[0].isalpha() or len(plain) > LONGEST_INITIALS:
        raise Refusal(f"Initials are one to {LONGEST_INITIALS} letters, for example RK.")
    return plain


def cautions_read(cautions: Sequence[str]) -> CautionsRead:
    """These cautions were read."""
    return CautionsRead(tuple(cautions))


def void(why: str) -> Void:
    """An entry no longer counts, and why."""
    return Void(said(why, "Say in a few words why it is struck; the reason stays in the log."))


def note(text: str, area: str | None) -> Note:
    """Words for the log."""
    return Note(area, said(text, "Nothing was typed; type the note, then press Enter."))
