"""The help: every key of the screen below, read from its bindings, and how a length is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll

from gradecheck.app.bindings import bind
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.region import Row
from gradecheck.app.widgets.sheet import Sheet, heading
from gradecheck.app.widgets.title import Title
from gradecheck.catalogue import _, not_reviewed, with_keys
from gradecheck.measure.notation import Units
from gradecheck.report.guide import guide_text

INCHES = _("13 13/16   13-13/16   4' 3-1/2\"   4.35   351 mm   1.15 ft   -3")
DECIMALS = _("4.35   -3   1.15 ft   351 mm   35.1 cm   1.351 m")
WIDEST = 34
"""Cells of a table's column but the last, at most as a rule; a longer cell pushes what is beside it."""
FIGURES = {
    Units.IN: ("51-3/8", "3/8"), Units.FT_IN: ("4' 3-3/8", "3/8"), Units.FT: ("4.35", "0.03"),
    Units.MM: ("1351", "9"), Units.CM: ("135.1", "0.9"), Units.M: ("1.351", "0.009"),
}  # fmt: skip
"""What the rod reads, and what that is off, in the examples."""
TYPING = (
    _("A bare number is in the rod's unit. Enter records it, Escape clears it."),
    _("On Check a name (W7, w7) goes to that point; Up and Down walk the route."),
    _("Ctrl+P finds every action by its name."),
    _("A ~ means the number is rounded to the rod's divisions."),
)


class KeysScreen(LeftOnceScreen[None]):
    """Escape goes back."""

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (116, "-wide")]

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
        width = max(len(key) for _, _, rows in self._keys for key, _ in rows)
        blocks = [self._block(name, example, rows, width) for name, example, rows in self._keys]
        typing = (_("Readings: {lengths}", lengths=self._lengths), *TYPING, *filter(None, [not_reviewed()]))
        blocks.append([heading(_("TYPING")), *([(f"  {line}", "ink")] for line in typing)])
        left = halved([len(block) for block in blocks])
        with VerticalScroll(id="keys"), Container(id="key-columns"):
            yield Sheet(with_blank_rows(blocks[:left]))
            yield Sheet(with_blank_rows(blocks[left:]))
        yield KeyLine()

    def _block(self, name: str, example: str, rows: Sequence[tuple[str, str]], width: int) -> list[Row]:
        example_text = f": {example.format(**self._figures)}" if example else ""
        keys: list[Row] = [[(f"  {key:<{width}}", "strong"), (f" {does}", "ink")] for key, does in rows]
        return [[(name, "strong"), (example_text, "quiet")], *keys]

    def action_guide(self) -> None:
        """The guide, in the place of the keys."""
        self.app.switch_screen(GuideScreen(self._page))


def guide_rows(text: str) -> list[Row]:
    """A page of the guide for the screen: headings stand out, tables are set in columns, no marks are left."""
    rows: list[Row] = []
    table: list[list[str]] = []
    code = False
    for line in [*text.splitlines(), ""]:
        if line.startswith("|"):
            cells = [each.strip() for each in line.strip("|").replace("\\|", "\0").split("|")]
            if not all(set(each) <= set("-: ") for each in cells):
                table.append([_unmarked(each.replace("\0", "|")) for each in cells])
            continue
        if table:
            rows += _columns(table)
            table = []
        if line.startswith("```"):
            code = not code
        elif line.startswith("#") and not code:
            rows.append(heading(_unmarked(line.lstrip("# "))))
        else:
            rows.append([(line, "ink")] if code else [(_unmarked(line), "ink")] if line else [])
    return rows[:-1]


def _columns(table: list[list[str]]) -> list[Row]:
    head, *body = table
    wide = [min(max(len(row[at]) for row in table if at < len(row)), WIDEST) for at in range(len(head))]
    looks = ["strong", *["ink"] * len(head)]

    def row(cells: list[str], looks: Sequence[str]) -> Row:
        *before, last = cells
        return [
            *((f"{cell:<{wide[at]}}  ", looks[at]) for at, cell in enumerate(before)),
            (last, looks[len(before)]),
        ]

    return [row(head, ["quiet"] * len(head)), *(row(each, looks) for each in body)]


def _unmarked(line: str) -> str:
    return line.replace("`", "").replace("**", "")


def halved(sizes: Sequence[int]) -> int:
    """How many of the blocks stand in the left one of two columns, so that neither is much longer."""
    ways = range(1, len(sizes)) or range(1)
    return min(ways, key=lambda at: max(sum(sizes[:at]) + at, sum(sizes[at:]) + len(sizes) - at))


def with_blank_rows(blocks: Sequence[list[Row]]) -> list[Row]:
    """The blocks below each other, a blank line behind each."""
    return [row for block in blocks for row in (*block, [])]


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
        text = with_keys(guide_text(self._page))
        yield Title(_(" Guide · {page}", page=self._page))
        with VerticalScroll(id="keys", can_focus=False):
            yield Sheet(guide_rows(text))
        yield KeyLine()

    def action_turn(self, by: int) -> None:
        """Turns lines of what does not fit."""
        self.query_one("#keys").scroll_relative(y=by, animate=False)
