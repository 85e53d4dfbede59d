"""The verdict for the machine's seat: one panel, edge to edge, whose shape says what it is before it can be read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from gradecheck.app.check_view import CheckView, Panel, notes_of
from gradecheck.app.widgets.letters import large
from gradecheck.app.widgets.region import EDGE, Region, Row, cut_row, ends, joined, width_of
from gradecheck.catalogue import _, stage_word, translated
from gradecheck.checks.blunders import KEEPS
from gradecheck.measure.verdict_words import Word


class PanelShape(Enum):
    """How the panel is drawn; no two differ by color alone."""

    EMPTY = "tinted"
    FILLED = "filled edge to edge"
    FRAMED = "a frame around it"
    LEVEL = "a level line above and below"
    BROKEN = "a broken frame around it"
    HATCHED = "reversed, hatched at both sides"


TONES = {
    PanelShape.EMPTY: "tinted",
    PanelShape.FILLED: "filled",
    PanelShape.FRAMED: "work",
    PanelShape.LEVEL: "calm",
    PanelShape.BROKEN: "doubt",
    PanelShape.HATCHED: "reversed",
}
SHAPES = {Word.CUT: PanelShape.FILLED, Word.FILL: PanelShape.FRAMED, Word.ON_GRADE: PanelShape.LEVEL}
"""The shape of each verdict; anything else is doubt."""

ASCII = str.maketrans({"█": "#", "▀": "#", "▄": "#", "━": "=", "┃": "|", "▚": "%", "·": "-", "−": "-", "…": "."})


@dataclass(frozen=True, slots=True)
class PanelFace:
    """What the panel shows: two texts above, the large letters, and below as many of the notes as have room."""

    shape: PanelShape
    name: tuple[str, ...]
    corner: str
    large: str
    notes: tuple[str, ...]


class VerdictPanel(Region):
    """Shows one face; it never changes its height."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id, ascii_only=ascii_only)
        self.face = PanelFace(PanelShape.EMPTY, (), "", "", ())

    def show(self, face: PanelFace) -> None:
        """Shows another face."""
        if face != self.face:
            self.face = face
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The panel."""
        rows = drawn(self.face, width, height, ascii_only=self.ascii_only)
        return [[(text.translate(ASCII), look) for text, look in row] for row in rows] if self.ascii_only else rows


def face_of(view: CheckView, *, with_sure: bool = False, beside: str = "") -> PanelFace:
    """The face for what Check shows; `with_sure` adds how sure the answer is.

    `beside` stands in the corner where no reading stands in the panel.
    """
    name: tuple[str, ...] = (f"{view.point}  {stage_word(view.stage)}",)
    if view.panel in (Panel.NOT_SAVED, Panel.QUESTION):
        keeps = translated(KEEPS)
        asked = view.note.removesuffix(keeps)  # the line above the box says that too; here it goes first
        notes = (view.note,) if asked == view.note else (asked.rstrip(), keeps)
        return PanelFace(PanelShape.HATCHED, name, _("not saved"), view.large, notes)
    reading = view.answer
    if reading is None:
        if view.note:
            return PanelFace(PanelShape.EMPTY, name, beside, "", (view.note,))
        notes = (_("No reading at {point} yet", point=view.point), _("hold the rod there, type what it reads, Enter"))
        return PanelFace(PanelShape.EMPTY, name, beside, "", notes)
    shape = PanelShape.BROKEN if reading.doubt else SHAPES.get(reading.word, PanelShape.BROKEN)
    corner = _("saved {time}", time=view.saved_at).rstrip()
    if view.late_by:
        corner = _("entered later, read {time} by {crew}", time=view.saved_at, crew=view.late_by)
    elif view.crew:
        corner = f"{view.crew} {view.saved_at}"
    return PanelFace(
        shape,
        tuple(filter(None, (*name, reading.what))),
        corner,
        view.large,
        notes_of(view, reading, with_sure=with_sure),
    )


def drawn(face: PanelFace, width: int, height: int, *, ascii_only: bool = False) -> list[Row]:
    """The rows of a face: its name and corner, the letters, its notes."""
    tone = TONES[face.shape]
    plain = tone if face.shape in (PanelShape.FILLED, PanelShape.HATCHED, PanelShape.EMPTY) else "ink"
    strong = plain if plain == tone else "strong"
    above: Row = [(f"  {text}" if at else text, plain if at else strong) for at, text in enumerate(face.name)]
    corner: Row = [(face.corner, plain)] if face.corner else []
    below = joined([[(note, plain)] for note in face.notes], width - 4 * EDGE, " · ")
    letters = _letters(face, width, max(height - 2, 0), tone, ascii_only=ascii_only)
    if face.shape in (PanelShape.EMPTY, PanelShape.FILLED):
        rows = [ends(above, corner, width, (" ", tone)), *letters, ends(below, [], width, (" ", tone))]
    else:
        upper, lower, sides = _FRAMES[face.shape]
        rows = [
            _set_in(above, corner, width, tone, *upper),
            *(_between(row, sides[at % len(sides)], tone) for at, row in enumerate(letters)),
            _set_in(below, [], width, tone, *lower),
        ]
    return rows if height > 2 else _letters(face, width, height, tone, ascii_only=ascii_only)


_FRAMES = {
    PanelShape.FRAMED: (("█▀", "▀"), ("█▄", "▄"), ("█",)),
    PanelShape.LEVEL: (("━━", "━"), ("━━", "━"), ("",)),
    PanelShape.BROKEN: (("━ ", "━ "), ("━ ", "━ "), ("", "┃")),
    PanelShape.HATCHED: (("▚▚", " "), ("▚▚", " "), ("▚▚",)),
}
"""Of each frame the end and the run of its upper line, those of its lower one, and its sides row by row."""


def _letters(face: PanelFace, width: int, height: int, tone: str, *, ascii_only: bool) -> list[Row]:
    """The large letters in the middle of so many rows; the text as it is where none have room."""
    text = face.large or (face.name[0].split("  ")[0] if face.name and face.shape is PanelShape.EMPTY else "")
    room = width - (5 if face.shape is PanelShape.HATCHED else 3)
    lines: Sequence[str] = _largest(text, room, height, ascii_only=ascii_only) or ([text] if text else [])
    lines = lines[:height]
    before = (height - len(lines)) // 2
    inside = [_middle(line, room, width, tone) for line in lines]
    blank: Row = [(" " * width, tone)]
    return [*[blank] * before, *inside, *[blank] * (height - len(lines) - before)]


def _largest(text: str, width: int, height: int, *, ascii_only: bool) -> Sequence[str]:
    """The text in one line, or the word above its figure where that makes both larger."""
    one = large(text, width, height, ascii_only=ascii_only)
    word, _, figure = text.partition(" ")
    each = (height - 1) // 2
    two = [large(part, width, each, ascii_only=ascii_only) for part in (word, figure) if part]
    if len(two) < 2 or not all(two) or min(map(len, two)) <= len(one):
        return one
    return [line.center(width) for line in (*two[0], "", *two[1])]


def _middle(line: str, most: int, width: int, tone: str) -> Row:
    row = cut_row([(line, tone)], most)
    room = width - width_of(row)
    return [(" " * (room // 2), tone), *row, (" " * (room - room // 2), tone)]


def _between(row: Row, side: str, tone: str) -> Row:
    """A row of the letters with the sides of the frame in the place of its outermost blanks."""
    if not side:
        return row
    (before, _), *inside, (behind, _) = row if len(row) > 1 else [(row[0][0][:-2], tone), (row[0][0][-2:], tone)]
    return [(side + before[len(side) :], tone), *inside, (behind[: len(behind) - len(side)] + side, tone)]


def _set_in(left: Row, right: Row, width: int, tone: str, end: str, run: str) -> Row:
    """Texts set into the upper or lower line of a frame, with a blank at either side of each."""
    ending: Row = [(" ", tone), *right, (" ", tone)] if right else []
    room = width - 2 * len(end) - width_of(ending)
    beginning: Row = [(" ", tone), *cut_row(left, max(room - 3, 0)), (" ", tone)] if left else []
    between = max(room - width_of(beginning), 0)
    return [(end, tone), *beginning, ((run * between)[:between], tone), *ending, (end[::-1], tone)]
