"""A total rise divided into equal risers whose heights can be read on a rod."""

from __future__ import annotations

from gradecheck.measure.printed import nearest
from gradecheck.measure.quantities import ZERO, Length


def equal_risers(total: Length, count: int, graduation: Length) -> tuple[Length, ...]:
    """The risers from the head of the flight down to its foot; they sum to the total exactly.

    Each nosing, counted from the head, lies on the mark nearest to its equal share, so neighbours differ by no more
    than one graduation. What no mark can show stays in the last riser, at the foot, where a walk may meet it: that
    one is within half a graduation of its share, and only where there is such a rest can it differ from its
    neighbour by more than one graduation, and never by more than one and a half.
    """
    marks = [nearest(Length(total.metres * number / count), graduation) for number in range(count)]
    heights = [*marks, total]
    return tuple(below - above for above, below in zip([ZERO, *heights[1:-1]], heights[1:], strict=True))
