"""Plain drafts for tests that need something to write."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from gradecheck.journal.facts import Draft, Fact, Note

FIRST_MOMENT = datetime(2031, 4, 7, 6, 30, tzinfo=UTC)


def draft(fact: Fact, name: str, *, typed: str = "", replaces: str | None = None, minutes: int = 0) -> Draft:
    """A plain draft, so many minutes after the first moment; its name is its id."""
    return Draft(
        id=name,
        laptop="field laptop",
        window="window one",
        by="RK",
        typed=typed,
        at=FIRST_MOMENT + timedelta(minutes=minutes),
        offset=120,
        version="0",
        plan="",
        fact=fact,
        replaces=replaces,
    )


def notes(*texts: str, area: str | None = None) -> list[Draft]:
    """A note for each text, which is its id as well."""
    return [draft(Note(area, text), text, typed=text) for text in texts]
