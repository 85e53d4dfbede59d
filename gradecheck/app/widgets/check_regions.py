"""What stands around the verdict on Check: the title band, the tolerance, the point under the hand, the progress."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.app.check_view import Card
from gradecheck.app.check_words import without_tilde
from gradecheck.app.widgets.letters import large
from gradecheck.app.widgets.region import EDGE, Region, Row, cut_row, ends, joined, width_of
from gradecheck.catalogue import _
from gradecheck.plan.targets import true_minus
from gradecheck.report.bars import bar_pieces, counts
from gradecheck.report.rows import Answer
from gradecheck.state.tally import StageCount

WIDE = 100
"""Columns from which the list stands beside the card, and the job's name in the band."""
LEAST_OF_A_REASON = 8
"""Cells of a reason in the band below which it is left out."""
LIST_BESIDE = 62
"""Columns of the list beside the card."""
CARD_BESIDE = (38, 64)
"""Columns of the card beside the list, at least and at most."""


LOW = 22
"""Rows below which a window is low."""
LETTERS = 6
"""Rows of the rod's figure in large letters, with the line above it."""


@dataclass(frozen=True, slots=True)
class Heights:
    """Rows of each region of Check in one window; the list takes what is left."""

    verdict: int
    bar: int
    card: int
    progress: int
    points: bool
    beside: int
    """Columns of the card where the list stands beside it, else 0."""


def is_low(rows: int) -> bool:
    """Whether a window is so low that no row may go to words alone."""
    return rows < LOW


def heights(width: int, rows: int) -> Heights:
    """How a window of that size is shared out: the list goes first, then the progress, then the bar.

    The verdict grows with the window; the point under the hand and the box never go.
    """
    verdict = 13 if rows >= 34 and width >= WIDE else 10 if rows >= 29 else 7
    left = rows - (4 if is_low(rows) else 5) - verdict  # band, who decides, line, box and keys
    card = 2 if left >= 2 else 1
    bar = 1 if left - card >= 1 else 0
    progress = 1 if left - card - bar >= 1 else 0
    if width >= WIDE and left >= 8:
        card, progress = left - bar - 3, 3
        beside = max(min(width - LIST_BESIDE, CARD_BESIDE[1]), CARD_BESIDE[0])
        return Heights(verdict, bar, card, progress, True, beside)
    return Heights(verdict, bar, card, progress, left - card - bar - progress >= 2, 0)


class Band(Region):
    """The title: what is worked on at the left, by whom and from which setup at the right."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[str, tuple[str, ...], tuple[str, ...]] = ("", (), ())
        self._loud: tuple[str, ...] = ()
        self._why = ""
        self._copied = ("", False)

    def show(
        self,
        job: str,
        left: Sequence[str],
        right: Sequence[str],
        copied: str = "",
        *,
        old: bool = False,
        loud: Sequence[str] = (),
        why: str = "",
    ) -> None:
        """Shows these parts: the job where the window is wide; where there is no room for all, the later ones go.

        `loud` is what must be seen at the right, before the others; `why` stands last, cut where there is no room.
        `copied` says when the job was last copied off this laptop; an `old` copy is in doubt and comes first.
        """
        before, behind, seen = (tuple(filter(None, each)) for each in (left, right, loud))
        shown = (job, before, behind), seen, (copied, old), why
        if (self._shown, self._loud, self._copied, self._why) != shown:
            self._shown, self._loud, self._copied, self._why = shown
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """One row."""
        (job, before, behind), (copied, old) = self._shown, self._copied
        pieces = [(text, "strong") for text in self._loud] + [(text, "quiet") for text in behind]
        if copied:
            pieces.insert(0 if old else len(pieces), (copied, "doubt" if old else "quiet"))
        must = min(width_of(joined([[(text, "strong")] for text in self._loud], width)), width - 2 * EDGE - 8)
        right = joined([[piece] for piece in pieces], max(width * 2 // 3, must))
        if self._why and (spare := width * 2 // 3 - width_of(right) - 2) >= LEAST_OF_A_REASON:
            right = [*right, ("  ", "quiet"), *cut_row([(self._why, "quiet")], spare)]
        parts = (job, *before) if width >= WIDE else before
        room = width - 2 * EDGE - width_of(right) - 2
        left = joined([[(text, "strong" if at == 0 else "ink")] for at, text in enumerate(parts)], room)
        return [ends(left, right, width)]


class ToleranceBar(Region):
    """``low −1/8 ····┃──█──┼─────┃···· +1/8 high``: where the last reading lies, low at the left."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id, ascii_only=ascii_only)
        self._answer: Answer | None = None
        self._beside = ""

    def show(self, answer: Answer | None, beside: str = "") -> None:
        """Shows where one answer lies, or nothing; `beside` stands at the right where there is room."""
        if (self._answer, self._beside) != (answer, beside):
            self._answer, self._beside = answer, beside
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """One row; on one window the bar is always as long."""
        answer = self._answer
        if answer is None or not answer.off:
            return [ends([], [(self._beside, "quiet")], width)] if width_of([(self._beside, "")]) < width else []
        low, high = (
            _("low −{allowed_low} ", allowed_low=answer.allowed_low),
            _(" +{allowed_high} high", allowed_high=answer.allowed_high),
        )
        half = 24 if width >= WIDE else 12 if width >= 54 else 6
        tone = "doubt" if answer.doubt else "calm" if abs(answer.place) <= 1 else "work"
        cells = bar(answer.place, half, tone, ascii_only=self.ascii_only)
        left: Row = [(low, "quiet"), *cells, (high, "quiet")]
        room = width - 2 * EDGE - width_of(left) - 2
        texts = (self._beside, _("off {length}", length=true_minus(answer.off)))
        right = next((text for text in texts if text and len(text) <= room), "")
        return [ends(left, [(right, "ink")] if right else [], width)]


def bar(place: Fraction, half: int, tone: str, *, ascii_only: bool = False) -> Row:
    """The cells of the bar: limits at a third of each half, the reading a block, the way to it drawn heavy."""
    limit = max(half // 3, 2)
    at = cell_of(place, limit, half)
    far, near, wall, middle, heavy, mark = ".-|:=X" if ascii_only else "·─┃┼━█"
    row: Row = []
    for cell in range(-half, half + 1):
        if cell == at:
            row.append((mark, tone))
        elif abs(cell) == limit:
            row.append((wall, "ink"))
        elif cell == 0:
            row.append((middle, "ink"))
        elif min(at, 0) < cell < max(at, 0):
            row.append((heavy, tone))
        else:
            row.append((near if abs(cell) < limit else far, "quiet"))
    return row


def cell_of(place: Fraction, limit: int, half: int) -> int:
    """The cell for a place, never drawn inside a limit that it is beyond, nor beyond one it is inside."""
    exact = place * limit
    size = int(abs(exact) + Fraction(1, 2))
    size = min(size, limit) if abs(place) <= 1 else max(size, limit + 1)
    return min(size, half) * (-1 if exact < 0 else 1)


class PointCard(Region):
    """The point under the hand: its name and place, what the rod should read there, and what it read last."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id, ascii_only=ascii_only)
        self._card: Card | None = None

    def show(self, card: Card) -> None:
        """Shows a point."""
        if card != self._card:
            self._card = card
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """Two rows, one where there are no more, or a column with the rod's figure in large letters."""
        card = self._card
        if card is None:
            return []
        name, rod, last = name_of(card), without_tilde(card.should_read), _last(card, width)
        target: Row = (
            [(_("target "), "quiet"), (without_tilde(true_minus(card.target)), "ink")] if card.target else []
        )
        allowed: Row = [(_("tolerance "), "quiet"), (card.tolerance, "ink")] if card.tolerance else []
        offset: Row = [(card.offset, "strong")] if card.offset else []
        room = width - 2 * EDGE
        if height <= 2:
            long = _("the rod should read ") if width >= 72 else _("should read ")
            last = _last(card, room - width_of(offset or target) - 2)
            second = joined([offset, target, allowed], room - width_of(last) - 2, whole=True)
            rows = [ends(name, [(long, "quiet"), (rod, "strong")] if rod else [], width), ends(second, last, width)]
        else:
            both = joined([target, allowed], room)
            apart = [target, allowed] if width_of(both) < width_of([*target, *allowed]) else [both]
            small = [row for row in (name, offset, *apart, last) if row]
            while len(small) > (3 if offset else 2) and height - len(small) < LETTERS < height - 1:
                small.pop()  # the rod's figure is wanted more, in letters that are read from afar
            rows = [ends(row, [], width) for row in small]
            rows += self._large(rod, width, height - len(rows))
        mark = ">" if self.ascii_only else "▌"
        filled = [*rows, *[_BLANK] * height][:height]
        return [[(mark, "strong"), (first[1:], look), *rest] for (first, look), *rest in filled]

    def _large(self, rod: str, width: int, height: int) -> list[Row]:
        if not rod:
            return []
        label: Row = ends([(_("the rod should read"), "quiet")], [], width)
        letters = large(rod, width - 2 * EDGE, height - 1, ascii_only=self.ascii_only)
        if not letters:
            return [ends([(_("the rod should read "), "quiet"), (rod, "strong")], [], width)]
        spare = [_BLANK] if height - 2 >= len(letters) else []
        return [*spare, label, *(ends([(line, "strong")], [], width) for line in letters)]


_BLANK: Row = [("  ", "ink")]


def name_of(card: Card) -> Row:
    """The point and what it is."""
    return [(card.point, "strong"), *([("  " + card.what, "ink")] if card.what else [])]


def _last(card: Card, room: int) -> Row:
    if not card.last_read:
        return []
    read: Row = [
        (_("{crew} read ", crew=card.crew) if card.crew else _("last read "), "quiet"),
        (card.last_read, "ink"),
    ]
    return joined([read, [(card.last_at, "quiet")]], room, whole=True)


class AreaProgress(Region):
    """How far the area is at its stage: a bar of its points, and the counts in words."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id, ascii_only=ascii_only)
        self._shown: tuple[str, StageCount | None, str] = ("", None, "")

    def show(self, what: str, progress: StageCount | None, counted: str) -> None:
        """Shows the progress of `what`; of an area that is not counted in full, `counted` says how many were read."""
        if self._shown != (what, progress, counted):
            self._shown = what, progress, counted
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """One row, or three beside the list."""
        what, progress, counted = self._shown
        if progress is None:
            return [ends([(what, "quiet")] if height > 1 else [], [(counted, "ink")], width)]
        done, rest = counts(progress)
        if height < 3:
            words = joined([[(done, "strong")], *([(text, "ink")] for text in rest)], width - 2 * EDGE - 12)
            cells = min(30, width - 2 * EDGE - 2 - width_of(words))
            return [ends(self._bar(progress, cells), words, width)]
        cells = width - 2 * EDGE
        return [
            ends([(what, "quiet")], [(_("{done} on grade", done=done), "strong")], width),
            ends(self._bar(progress, cells), [], width),
            ends(joined([[(text, "ink")] for text in rest], cells), [], width),
        ]

    def _bar(self, progress: StageCount, cells: int) -> Row:
        return bar_pieces(progress, cells, ascii_only=self.ascii_only)


class EntryPrompt(Region):
    """What the box beside it fills, so that nobody types at the wrong point."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._says = ""

    def show(self, says: str) -> None:
        """Shows it, as wide as it is."""
        if says != self._says:
            wider = width_of([(says, "")]) != width_of([(self._says, "")])
            self._says = says
            if wider:
                self.styles.width = min(width_of([(says, "")]) + EDGE + 1, 24)
            self.changed()

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """One row."""
        return [[("  ", "reversed"), *cut_row([(self._says, "reversed")], width - EDGE - 1), (" ", "reversed")]]
