"""Text from files, people and errors as plain text: never markup, never anything a terminal would obey."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rich.cells import cell_len
from textual.content import Content, Span
from textual.css.styles import RulesMap
from textual.strip import Strip
from textual.style import Style
from textual.visual import RenderOptions

from gradecheck.measure.printed import with_true_minus
from gradecheck.plan.names import visible

__all__ = ["broken", "clean", "looked", "plain", "plain_lines"]

_JOINED = "\ue000"
"""Stands for a space that no line breaks at; `clean` lets none through. Textual breaks at a no-break space too."""
_WITHIN_A_FIGURE = re.compile(
    r"(?<=[0-9]) (?=[0-9]+/[0-9])|(?<=[0-9]') (?=[0-9])|(?<=[0-9]) (?=(?:in|ft|mm|cm|m|%)(?!\w))"
)


def clean(text: str) -> str:
    """The text as it is drawn: nothing hidden, and one minus before all figures, the true one."""
    return with_true_minus(visible(text))


class Text(Content):
    """Plain text whose lines never break within a figure, and stay indented where they go on below."""

    def get_height(self, rules: RulesMap, width: int) -> int:
        """How many lines that takes."""
        return self._broken(width).get_height(rules, width) if _wraps(rules) else super().get_height(rules, width)

    def render_strips(self, width: int, height: int | None, style: Style, options: RenderOptions) -> list[Strip]:
        """The lines."""
        if not _wraps(options.rules):
            return super().render_strips(width, height, style, options)
        return self._broken(width).render_strips(width, height, style, options)

    def _broken(self, width: int) -> Content:
        if all(cell_len(line) <= width for line in self.plain.split("\n")):
            return Content(self.plain, list(self.spans))
        return Content("\n".join(piece for line in self.plain.split("\n") for piece in _pieces(line, width)))


def _wraps(rules: RulesMap) -> bool:
    return rules.get("text_wrap", "wrap") == "wrap"


def _pieces(line: str, width: int) -> list[str]:
    if width <= 0 or cell_len(line) <= width:
        return [line]
    words = line.lstrip(" ")
    indent = " " * min(len(line) - len(words), width // 2)
    wrapped = Content(_WITHIN_A_FIGURE.sub(_JOINED, words)).wrap(width - len(indent))
    return [indent + piece.plain.rstrip(" ").replace(_JOINED, " ") for piece in wrapped]


def broken(text: str, width: int) -> list[str]:
    """One line of text as the lines it takes in that width, none of them broken within a figure."""
    return _pieces(clean(text), width)


def plain(text: str) -> Content:
    """The text for a widget, one line as it stands."""
    return Text(clean(text))


def looked(lines: Sequence[str], looks: Iterable[tuple[str, str]]) -> Content:
    """Several lines for a widget; whatever matches one of the patterns has its look, the earlier ones beneath."""
    text = "\n".join(map(clean, lines))
    found = (
        Span(*each.span(), style) for pattern, style in looks for each in re.finditer(pattern, text, re.MULTILINE)
    )
    return Text(text, spans=list(found))


def plain_lines(lines: list[str]) -> Content:
    """Several lines for a widget."""
    return Text("\n".join(map(clean, lines)))
