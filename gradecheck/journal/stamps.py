"""When an entry was made: what a clock can show in earnest, and what is kept where it shows anything else."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from gradecheck.catalogue import _

if TYPE_CHECKING:
    from gradecheck.journal.facts import Draft, Late

FIRST = datetime(2000, 1, 1, tzinfo=UTC)
END = datetime(2100, 1, 1, tzinfo=UTC)
"""From the first moment on, before the end: outside of that no clock is right, as one that shows 1970 or 2106."""
FARTHEST = 18 * 60
"""Minutes that local clocks can be away from UTC; those in use reach from -12 h to +14 h (tz database)."""
STEP = timedelta(milliseconds=1)
"""As fine as the journal tells the time."""

_KEPT = '{"clock unknown":'
_READ = json.JSONDecoder()


def stamp_fault(at: datetime, offset: int) -> str | None:
    """Why an entry can't have been made then, by clocks so many minutes ahead of UTC; None where it can."""
    if not FIRST <= at < END:
        return _("its time, {time}, is not from 2000 to 2099", time=at.isoformat())
    if not -FARTHEST <= offset <= FARTHEST:
        return _("its clock, {offset} minutes from UTC, is more than 18 h away from it", offset=offset)
    return None


def by_clock(moment: datetime) -> tuple[datetime, int, str]:
    """What a clock shows as UTC, the minutes it is ahead of that, and its own words where it can't be believed.

    With the words the other two mean nothing, and the journal gives the entry its time.
    """
    offset = int((moment.utcoffset() or timedelta()).total_seconds() // 60)
    day = timedelta(days=1)
    if not FIRST - day <= moment < END + day:  # a year 1 that is ahead of UTC has no moment there
        return FIRST, 0, moment.isoformat()
    at = moment.astimezone(UTC)
    return (at, offset, "") if stamp_fault(at, offset) is None else (FIRST, 0, moment.isoformat())


def taken_at(late: Late) -> tuple[datetime, int] | None:
    """When a reading that was entered late was taken, as UTC, and the minutes the clock on site was ahead of that.

    None where the journal of another program holds no such moment.
    """
    try:
        at, offset, words = by_clock(datetime.fromisoformat(late.at))
    except (ValueError, TypeError, OverflowError):  # no moment, or one without its offset
        return None
    return None if words else (at, offset)


def on_site(at: datetime, offset: int) -> datetime:
    """What a clock shows at that moment that is so many minutes ahead of UTC."""
    return at.astimezone(timezone(timedelta(minutes=offset)))


def day_of(at: datetime, offset: int) -> str:
    """The calendar day of an entry, as ``2026-05-12``: the one that its own clock showed, in its zone."""
    return on_site(at, offset).date().isoformat()


def not_believed(draft: Draft) -> str:
    """The words of the draft's clock where they can't be believed, empty where they can."""
    if draft.clock or stamp_fault(draft.at, draft.offset) is None:
        return draft.clock
    return _("{time}, {offset} minutes from UTC", time=draft.at.isoformat(), offset=draft.offset)


def behind(before: Draft | None, draft: Draft, words: str) -> Draft:
    """The draft a millisecond after the entry before it, or at the first moment there is, with its clock's words."""
    if before is None:
        return replace(draft, at=FIRST, offset=0, clock=words)
    return replace(draft, at=min(before.at + STEP, END - STEP), offset=before.offset, clock=words)


def with_words(fact: str, words: str) -> str:
    """The text of a fact, with what the clock said before all else where that could not be believed."""
    return f"{_KEPT}{json.dumps(words, ensure_ascii=False)},{fact[1:]}" if words else fact


def words_apart(text: str) -> tuple[str, str]:
    """The text of a fact as it is without a clock's words, and those. Raises ValueError where they are no text."""
    if not text.startswith(_KEPT):
        return text, ""
    words, end = _READ.raw_decode(text, len(_KEPT))
    if not isinstance(words, str) or not words or text[end : end + 1] != ",":
        raise ValueError(_("no words of a clock"))
    return "{" + text[end + 1 :], words
