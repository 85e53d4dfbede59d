"""The help: every key of the screen below, read from its bindings, and how a length is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from gradecheck.app.bindings import bind
from gradecheck.app.plain import plain_lines
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _
from gradecheck.measure.notation import Units

INCHES = _("13 13/16   13-13/16   4' 3-1/2\"   4.35   351 mm   1.15 ft   -3")
DECIMALS = _("4.35   -3   1.15 ft   351 mm   35.1 cm   1.351 m")
FIGURES = {
    Units.IN: ("51-3/8", "3/8"), Units.FT_IN: ("4' 3-3/8", "3/8"), Units.FT: ("4.35", "0.03"),
    Units.MM: ("1351", "9"), Units.CM: ("135.1", "0.9"), Units.M: ("1.351", "0.009"),
}  # fmt: skip
"""What the rod reads, and what that is off, in the examples."""
TYPING = (
    _("A bare number has the rod's unit. Enter records it, Escape drops it."),
    _("On Check a name (W7, w7) goes to that point; Up and Down walk the route."),
    _("Ctrl+P finds every action by its name."),
    _("A ~ means the number is rounded to the rod's marks."),
)


class KeysScreen(LeftOnceScreen[None]):
    """Escape goes back."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter", "dismiss", _("Back"), id="back"),
        bind("keys", "guide", _("The guide, at the page of this screen"), word=_("Guide"), show=True),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(
        self,
        name: str,
        keys: Sequence[tuple[str, str, Sequence[tuple[str, str]]]],
        units: Units = Units.IN,
        page: str = "keys",
    ) -> None:
        """`keys` are those of the screen below by groups, each with its name and an example.

        `units` are those of the open job's rod, `page` is that of the guide which tells of the screen below.
        """
        super().__init__()
        self._page = page
        self._lengths = INCHES if units in (Units.IN, Units.FT_IN) else DECIMALS
        self._title = name
        self._figures = dict(zip(("rod", "off"), FIGURES[units], strict=True))
        self._keys = keys

    def compose(self) -> ComposeResult:
        """The keys, then the ways to type."""
        yield Title(_(" Keys · {title}", title=self._title))
        with VerticalScroll(id="keys"):
            width = max(len(key) for _, _, rows in self._keys for key, _ in rows)
            lines = []
            for name, example, rows in self._keys:
                lines.append(f" {name}{f': {example.format(**self._figures)}' if example else ''}")
                lines += [f"  {key:<{width}} {does}" for key, does in rows]
            yield Static(plain_lines(lines))
            yield Static(
                plain_lines(
                    ["", *(f"  {line}" for line in (_("Readings: {lengths}", lengths=self._lengths), *TYPING))]
                )
            )
        yield KeyLine()

    def action_guide(self) -> None:
        """The guide, in the place of the keys."""
        self.app.switch_screen(GuideScreen(self._page))


class GuideScreen(LeftOnceScreen[None]):
    """One page of the guide, as ``gradecheck guide`` prints it; Escape goes back."""

    TITLE = _("Guide")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,f1", "dismiss", _("Back"), id="back"),
        bind("up", "turn(-1)", word=_("Line up")),
        bind("down", "turn(1)", word=_("Line down")),
        bind("page-up", "turn(-15)"),
        bind("page-down", "turn(15)"),
        bind("quit", "app.leave", show=True),
    ]

    def __init__(self, page: str) -> None:
        """`page` is the name of one of the guide's files."""
        super().__init__()
        self._page = page

    def compose(self) -> ComposeResult:
        """The page."""
        from importlib.resources import files

        text = (files("gradecheck") / "guide" / f"{self._page}.md").read_text(encoding="utf-8")
        yield Title(_(" Guide · {page}", page=self._page))
        with VerticalScroll(id="keys", can_focus=False):
            yield Static(plain_lines([f"  {line}" for line in text.splitlines()]))
        yield KeyLine()

    def action_turn(self, by: int) -> None:
        """Turns lines of what does not fit."""
        self.query_one("#keys").scroll_relative(y=by, animate=False)
