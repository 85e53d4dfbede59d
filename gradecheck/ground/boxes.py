"""Boxes in plan found again by where they lie: what meets a box, and what lies nearest to a place.

Floats say only what need not be looked at; whoever asks decides exactly on what is left. A float is never smaller
than that of a smaller number, so boxes that touch always meet here too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count

Box = tuple[float, float, float, float]
"""Left, bottom, right, top."""
FEW = 8
"""So many boxes are looked at one by one."""
HAIR = 1e-9
"""By this share of themselves two distances in floats may differ and still be one."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Some of the boxes with the box round all of them: either `parts` within it, or what lies in it."""

    box: Box
    parts: tuple[Part, ...]
    inside: tuple[int, ...]


class Boxes:
    """Boxes numbered in their order, in parts halved across their longer side until few are left in each."""

    def __init__(self, boxes: Sequence[Box]) -> None:
        self._boxes = boxes
        self.whole = self._part(list(range(len(boxes)))) if boxes else None

    def _part(self, inside: list[int]) -> Part:
        boxes = [self._boxes[index] for index in inside]
        lefts, bottoms, rights, tops = zip(*boxes, strict=True)
        box = (min(lefts), min(bottoms), max(rights), max(tops))
        if len(inside) <= FEW:
            return Part(box, (), tuple(inside))
        low, high = (0, 2) if box[2] - box[0] >= box[3] - box[1] else (1, 3)
        inside.sort(key=lambda index: self._boxes[index][low] + self._boxes[index][high])
        half = len(inside) // 2
        return Part(box, (self._part(inside[:half]), self._part(inside[half:])), ())

    def meeting(self, box: Box) -> list[int]:
        """The numbers of the boxes that touch that one, in order."""
        left, bottom, right, top = box
        found, todo = list[int](), [self.whole] if self.whole else []
        while todo:
            part = todo.pop()
            a, b, c, d = part.box
            if a > right or c < left or b > top or d < bottom:
                continue
            todo.extend(part.parts)
            for index in part.inside:
                a, b, c, d = self._boxes[index]
                if a <= right and c >= left and b <= top and d >= bottom:
                    found.append(index)
        return sorted(found)

    def nearest(self, x: float, y: float, holds: Callable[[Part], bool] | None = None) -> Iterator[tuple[float, int]]:
        """Places of boxes in the list, the nearest to x, y first, each behind its squared distance in square metres.

        Parts that do not hold what is looked for may be passed over.
        """
        order = count()
        rim: list[tuple[float, int, Part | int]] = []
        if self.whole and (holds is None or holds(self.whole)):
            rim.append((0.0, next(order), self.whole))
        while rim:
            square, _, part = heappop(rim)
            if isinstance(part, int):
                yield square, part
                continue
            for each in part.parts:
                if holds is None or holds(each):
                    heappush(rim, (_square_to(each.box, x, y), next(order), each))
            for index in part.inside:
                heappush(rim, (_square_to(self._boxes[index], x, y), next(order), index))


def _square_to(box: Box, x: float, y: float) -> float:
    left, bottom, right, top = box
    over = left - x if x < left else x - right if x > right else 0.0
    up = bottom - y if y < bottom else y - top if y > top else 0.0
    return over * over + up * up
