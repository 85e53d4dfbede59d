"""What is answered about a file from outside, what must be asked first, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from gradecheck.catalogue import _, count
from gradecheck.measure.notation import Units
from gradecheck.plan.geojson import Outlined
from gradecheck.plan.names import visible
from gradecheck.plan.point_list import Listed

UNITS = {"in": "in", "ft": "ft", "ft-in": "ft-in", "mm": "mm", "cm": "cm", "m": "m", "usft": _("US survey feet")}
"""What `--units` may say."""
ALL_LAYERS = "*"
NONE = "none"
"""The answer that no column or attribute is the one asked for."""


@dataclass(frozen=True, slots=True)
class ImportAnswers:
    """What was answered: units of numbers, order or columns, prefix of names, layers, sheet.

    `columns` names for each of ours a heading, an attribute, or the number of a column, from 1.
    """

    units: str = ""
    order: str = ""
    columns: dict[str, str] = field(default_factory=dict)
    prefix: str = ""
    layers: tuple[str, ...] = ()
    outline: str = ""
    sheet: str = ""
    planar: bool = False


class ImportQuestion(str):
    """What must be answered: as a command has it; `asks` is the same for a screen, `key` what is answered.

    `column` is the one of ours that an answer for `columns` names, where that is one alone.
    """

    asks: str
    key: str
    column: str

    def __new__(cls, asks: str, key: str, command: str, typed: str, column: str = "") -> ImportQuestion:
        """`command` says how a command answers, `typed` what is typed on a screen."""
        made = super().__new__(cls, f"{asks} {command}")
        made.asks, made.key, made.column = f"{asks} {typed}", key, column
        return made


@dataclass(slots=True)
class ImportResult:
    """What came of it: points and an outline, or what must be answered first; `remarks` tell what was taken as."""

    points: Sequence[Listed] = field(default_factory=list)
    outline: Outlined | None = None
    questions: list[ImportQuestion] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    units: Units = Units.M


def ask_prefix(names: Sequence[str] | None, answers: ImportAnswers, taken: ImportResult) -> None:
    """Asks for a prefix where points have no names, `names` None, or names that begin with a figure."""
    if answers.prefix:
        return
    if names is None:
        taken.questions.append(
            ImportQuestion(
                _("The points have no names."),
                "prefix",
                _("--prefix P numbers them in the order of the file: P1, P2."),
                _("Type a letter, P say: it numbers them in the order of the file, P1, P2."),
            )
        )
        return
    numbered = [name for name in names if name[:1].isdecimal()]
    if numbered:
        taken.questions.append(
            ImportQuestion(
                _(
                    "{numbered} could be taken for a reading (“{quoted}”).",
                    numbered=count(len(numbered), "name"),
                    quoted=short(numbered[0]),
                ),
                "prefix",
                _("--prefix P puts a letter before those that begin with a figure."),
                _("Type a letter, P say: it stands before those that begin with a figure."),
            )
        )


def short(text: str) -> str:
    """The first 40 characters of a text of the file, all of them visible."""
    return visible(text if len(text) <= 40 else f"{text[:40]}…")


def in_quotes(headings: Sequence[str], most: int = 12) -> str:
    """Headings or layers in a sentence, so many at most."""
    listed, more = [f"“{short(each)}”" for each in headings[:most]], len(headings) - most
    return ", ".join(listed) + (_(" and {headings} more", headings=more) if more > 0 else "")
