"""Who decides where the program judges: said on every screen, by every command and on every page that does.

Here alone it is settled which those are; tests walk all verbs and all screens, so that a new one is sorted too.
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
OTHER_VERBS = {
    "jobs": _("the app, whose screens say it"),
    "open": _("the app, whose screens say it"),
    "follow": _("a second window of the app, which says it"),
    "new": _("writes examples; examine judges them"),
    "guide": _("tells how things work"),
    "schema": _("tells which keys a job file may have"),
    "completions": _("what a shell completes"),
    "targets": _("what the plan wants, held to nothing"),
    "add": _("makes a point"),
    "change": _("makes another target or tolerance"),
    "move": _("gives a setup up"),
    "mark": _("makes a mark"),
    "datum": _("chooses what elevations are shown from"),
    "strike": _("strikes an entry"),
    "compact": _("notes that a stage was compacted"),
    "undercut": _("notes what someone ordered"),
    "undo": _("takes a reading or a strike back"),
    "day": _("keeps weather and crew"),
    "import": _("takes over what the office sent"),
    "rehearse": _("makes up a journal"),
    "join": _("takes in entries as they were recorded"),
    "share": _("takes in and gives entries as they were recorded"),
    "office": _("makes a place where entries are kept as they were recorded"),
    "settings": _("shows what counts on this laptop"),
    "paths": _("names folders"),
    "copy": _("copies a journal"),
    "verify": _("looks at the file alone"),
    "rescue": _("looks at the file alone"),
}
"""The others, each with what it does instead."""

JUDGING_SCREENS = frozenset(
    ("CheckScreen", "SetUpScreen", "RecheckScreen", "GivenScreen", "FieldTestScreen", "DoubtScreen", "LogScreen",
     "DayScreen", "MapScreen", "LayoutScreen", "PlanScreen", "FindingsScreen")
)  # fmt: skip
"""The screens of the app that do, by their class."""
OTHER_SCREENS = {
    "CautionsScreen": _("has it as one of the day's cautions"),
    "JobsScreen": _("counts findings, which the screen of findings tells"),
    "BoardScreen": _("shows what was counted where it was judged"),
    "OpeningScreen": _("a journal is being read"),
    "NewScreen": _("asks for a new job"),
    "EditScreen": _("changes the job file; the screen of findings tells who decides"),
    "ProblemsScreen": _("a file that can't be read"),
    "MarkScreen": _("makes a mark"),
    "HoldScreen": _("asks why a hold point is gone past; the screens it stands between judge"),
    "OtherFolderScreen": _("copies a journal"),
    "ImportScreen": _("shows what an office sent; nothing is judged"),
    "JoinScreen": _("takes in what was judged on another laptop"),
    "KeysScreen": _("lists keys"),
    "GuideScreen": _("shows a page of the guide"),
}
"""The others, each with what it does instead."""


def said_by(verb: str) -> str:
    """The sentence where that command judges, else empty."""
    return DECIDES if verb in JUDGING_VERBS else ""


def said_on(screen: str) -> str:
    """The sentence where the screen of that class judges, else empty."""
    return DECIDES if screen in JUDGING_SCREENS else ""
