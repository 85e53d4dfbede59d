"""The help: every key of the screen below, read from its bindings, and how a length is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain, plain_lines
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.measure.notation import Units

INCHES = "13 13/16   13-13/16   4' 3-1/2\"   4.35   351 mm   1.15 ft   -3"
DECIMALS = "4.35   -3   1.15 ft   351 mm   35.1 cm   1.351 m"
TYPING = (
    "A bare number has the rod's unit. Enter records it, Escape drops it.",
    "On Check a name (W7, w7) goes to that point; Up and Down walk the route.",
    "A ~ means the number is rounded to the rod's marks.",
)


class KeysScreen(LeftOnceScreen[None]):
    """Escape goes back."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,f1", "dismiss", "Back", id="back"),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(self, name: str, keys: Sequence[tuple[str, str]], units: Units = Units.IN) -> None:
        """`units` are those of the open job's rod."""
        super().__init__()
        self._lengths = INCHES if units in (Units.IN, Units.FT_IN) else DECIMALS
        self._title = name
        self._keys = keys

    def compose(self) -> ComposeResult:
        """The keys, then the ways to type."""
        yield Static(plain(f" Keys · {self._title}"), id="head")
        with VerticalScroll(id="keys"):
            width = max(len(key) for key, _ in self._keys)
            yield Static(plain_lines([f"  {key:<{width}} {does}" for key, does in self._keys]))
            yield Static(plain_lines(["", *(f"  {line}" for line in (f"Readings: {self._lengths}", *TYPING))]))
        yield KeyLine()
