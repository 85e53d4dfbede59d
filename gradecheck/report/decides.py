"""Who decides where the program judges: said on every screen, by every command and on every page that does.

Which those are is settled here alone; tests walk all verbs and screens, so that a new one is sorted too.
"""

from __future__ import annotations

from gradecheck.catalogue import _

DECIDES = _("Local code and the drawings decide.")

JUDGING_VERBS = frozenset(
    ("examine", "rules", "plan", "changes", "setup", "recheck", "correct", "read", "log", "circuit", "instrument",
     "checks", "stone", "gauge", "layout", "review", "sign", "report", "board", "asbuilt",
     "quantities", "line")
)  # fmt: skip
"""The commands that hold a plan, work or the instrument to limits, or print what does."""

JUDGING_SCREENS = frozenset(
    ("CheckScreen", "SetUpScreen", "RecheckScreen", "GivenScreen", "FieldTestScreen", "DoubtScreen", "LogScreen",
     "DayScreen", "MapScreen", "LayoutScreen", "PlanScreen", "FindingsScreen")
)  # fmt: skip
"""The screens of the app that do, by their class."""


def said_by(verb: str) -> str:
    """The sentence where that command judges, else empty."""
    return DECIDES if verb in JUDGING_VERBS else ""


def said_on(screen: str) -> str:
    """The sentence where the screen of that class judges, else empty."""
    return DECIDES if screen in JUDGING_SCREENS else ""
