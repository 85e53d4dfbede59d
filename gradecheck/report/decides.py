"""Who decides where the program judges: said on every screen, by every command and on every sheet that does.

Here alone it is settled which those are; tests walk all verbs and all screens, so that a new one is sorted too.
"""

from __future__ import annotations

DECIDES = "Local code and the drawings decide."

JUDGING_VERBS = frozenset(
    ("examine", "rules", "plan", "changes", "setup", "recheck", "correct", "read", "log", "circuit", "instrument",
     "checks", "stone", "gauge", "layout", "review", "sign", "report", "asbuilt",
     "quantities")
)  # fmt: skip
"""The commands that hold a plan, work or the instrument to limits, or print what does."""
OTHER_VERBS = {
    "jobs": "the app, whose screens say it",
    "open": "the app, whose screens say it",
    "follow": "a second window of the app, which says it",
    "new": "writes examples; examine judges them",
    "guide": "tells how things work",
    "schema": "tells which keys a job file may have",
    "targets": "what the plan wants, held to nothing",
    "add": "makes a point",
    "change": "makes another target or tolerance",
    "move": "gives a setup up",
    "mark": "makes a mark",
    "datum": "chooses what elevations are shown from",
    "strike": "strikes an entry",
    "undo": "takes a reading or a strike back",
    "day": "keeps weather and crew",
    "import": "takes over what the office sent",
    "rehearse": "makes up a journal",
    "join": "takes in entries as they were recorded",
    "share": "takes in and gives entries as they were recorded",
    "copy": "copies a journal",
    "verify": "looks at the file alone",
    "rescue": "looks at the file alone",
}
"""The others, each with what it does instead."""

JUDGING_SCREENS = frozenset(
    ("CheckScreen", "SetUpScreen", "RecheckScreen", "GivenScreen", "FieldTestScreen", "DoubtScreen", "LogScreen",
     "DayScreen", "MapScreen", "LayoutScreen", "PlanScreen", "FindingsScreen")
)  # fmt: skip
"""The screens of the app that do, by their class."""
OTHER_SCREENS = {
    "CautionsScreen": "has it as one of the day's cautions",
    "JobsScreen": "counts findings, which the screen of findings tells",
    "OpeningScreen": "a journal is being read",
    "NewScreen": "asks for a new job",
    "ProblemsScreen": "a file that can't be read",
    "MarkScreen": "makes a mark",
    "ElsewhereScreen": "copies a journal",
    "JoinScreen": "takes in what was judged elsewhere",
    "KeysScreen": "lists keys",
    "GuideScreen": "shows a page of the guide",
}
"""The others, each with what it does instead."""


def said_by(verb: str) -> str:
    """The sentence where that command judges, else empty."""
    return DECIDES if verb in JUDGING_VERBS else ""


def said_on(screen: str) -> str:
    """The sentence where the screen of that class judges, else empty."""
    return DECIDES if screen in JUDGING_SCREENS else ""
