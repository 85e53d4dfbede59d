"""How old the copy off the laptop is, as the title says it."""

from __future__ import annotations

from datetime import datetime, timedelta

from gradecheck.catalogue import _, plural

OLD = timedelta(hours=24)
"""From here on a copy is old: a day's work would be lost with the laptop."""


def copy_age(at: datetime | None, now: datetime) -> tuple[str, bool]:
    """``copied 14:03``, and whether that is old: then work could be lost. Both with their zones."""
    if at is None:
        return _("NOT COPIED YET"), True
    here, age = at.astimezone(now.tzinfo), now - at
    if age >= OLD:
        return plural(age // OLD, "COPY {n} DAY OLD", "COPY {n} DAYS OLD"), True
    # A clock that was set back makes no copy newer than now.
    return (
        _("copied {here:%H:%M}", here=here) if here.date() == now.date() else _("copied {here:%a %H:%M}", here=here)
    ), False
