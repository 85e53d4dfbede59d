"""What covers a screen in a window too small to work in; what is typed is kept under it."""

from __future__ import annotations

from textual.geometry import Size
from textual.widgets import Static

from gradecheck.app.plain import plain
from gradecheck.catalogue import _

NEEDED = Size(40, 12)
"""Columns and lines in which the point, the verdict and the box have room."""


class TooSmall(Static):
    """Says what size is needed."""

    def say(self, size: Size) -> None:
        """Says it of a window of that size."""
        needed = f"{NEEDED.width} x {NEEDED.height}"
        self.update(
            plain(
                _(
                    "Make the window larger: need {needed}, have {width} x {height}.",
                    needed=needed,
                    width=size.width,
                    height=size.height,
                )
            )
        )


def too_small(size: Size) -> bool:
    """Whether the box, or what belongs to it, has no room in a window of that size."""
    return size.width < NEEDED.width or size.height < NEEDED.height
