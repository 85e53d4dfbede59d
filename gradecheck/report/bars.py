"""A bar of text for how far a stage is: each kind that occurs has one cell at least, and a sign of its own."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.catalogue import _, plural
from gradecheck.state.tally import StageCount

KINDS = (("calm", "█", "#"), ("work", "▒", "="), ("doubt", "?", "?"), ("quiet", "─", "."))
"""Of on grade, out, in doubt and unread the look, the cell, and the letter for it where fonts lack blocks."""


def bar_pieces(count: StageCount, cells: int, *, ascii_only: bool = False) -> list[tuple[str, str]]:
    """The parts of the bar, each with its look."""
    sizes = shared((count.on_grade, count.out, count.doubt, count.unread), cells)
    drawn = zip(KINDS, sizes, strict=True)
    return [((plain if ascii_only else block) * size, look) for (look, block, plain), size in drawn]


def bar_of(count: StageCount, cells: int, *, ascii_only: bool = False) -> str:
    """The bar as text: on grade, out, in doubt and unread, told apart without a color."""
    return "".join(text for text, _look in bar_pieces(count, cells, ascii_only=ascii_only))


def counts(count: StageCount) -> tuple[str, list[str]]:
    """``5 of 22`` on grade, and what else there is."""
    rest = ((count.out, _("out")), (count.doubt, _("in doubt")), (count.unread, _("unread")))
    words = [f"{number} {word}" for number, word in rest if number]
    if count.spots:
        words.append(plural(count.spots, "{n} spot in doubt", "{n} spots in doubt"))
    return _("{on_grade} of {points}", on_grade=count.on_grade, points=count.points), words


def shared(numbers: Sequence[int], cells: int) -> list[int]:
    """So many cells shared out as the numbers are; each that is not 0 has one at least, where there are enough."""
    total = sum(numbers)
    kinds = sum(1 for number in numbers if number)
    if not total or cells < kinds:
        return [0] * len(numbers)
    sizes = [max(number * cells // total, 1) if number else 0 for number in numbers]
    while sum(sizes) > cells:
        sizes[max(range(len(sizes)), key=lambda at: (sizes[at] > 1, sizes[at] * total - numbers[at] * cells))] -= 1
    while sum(sizes) < cells:
        sizes[max(range(len(sizes)), key=lambda at: numbers[at] * cells - sizes[at] * total)] += 1
    return sizes
