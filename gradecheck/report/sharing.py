"""How old the copy off the laptop is, as the title says it."""

from __future__ import annotations

from datetime import datetime, timedelta

OLD = timedelta(hours=24)
"""From here on a copy is old: a day's work would be lost with the laptop."""


def copy_age(at: datetime | None, now: datetime) -> tuple[str, bool]:
    """``copied 14:03``, and whether that is old: then work could be lost. Both with their zones."""
    if at is None:
        return "NOT COPIED YET", True
    here, age = at.astimezone(now.tzinfo), now - at
    if age >= OLD:
        days = age // OLD
        return f"COPY {days} {'DAY' if days == 1 else 'DAYS'} OLD", True
    # A clock that was set back makes no copy newer than now.
    return (f"copied {here:%H:%M}" if here.date() == now.date() else f"copied {here:%a %H:%M}"), False
