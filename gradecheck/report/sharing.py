"""How old the copy off the laptop is, or what is still to be sent to the office, as the title says it."""

from __future__ import annotations

from datetime import datetime, timedelta

from gradecheck.catalogue import _, plural
from gradecheck.report.dates import weekday

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
        _("copied {here:%H:%M}", here=here)
        if here.date() == now.date()
        else _("copied {day} {here:%H:%M}", day=weekday(here), here=here)
    ), False


def office_age(at: datetime | None, now: datetime, to_send: int) -> tuple[str, bool]:
    """``office 14:03``, or ``12 to send`` where that was recorded since, and whether work could be lost."""
    if at is None:
        return _("NOT SENT YET"), True
    if to_send and now - at >= OLD:
        since = at.astimezone(now.tzinfo)
        return _(
            "{to_send} TO SEND SINCE {day} {since:%H:%M}", to_send=to_send, day=weekday(since), since=since
        ), True
    if to_send:
        return _("{to_send} to send", to_send=to_send), False
    here = at.astimezone(now.tzinfo)
    if here.date() == now.date():
        return _("office {here:%H:%M}", here=here), False
    return _("office {day} {here:%H:%M}", day=weekday(here), here=here), False
