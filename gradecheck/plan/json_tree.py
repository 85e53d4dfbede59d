"""JSON (RFC 8259) read to a tree that keeps the place of every value, so that what is wrong is told on its line."""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.plan.names import LONGEST_TEXT, one_form
from gradecheck.plan.problems import Problem

MOST_PLACES = 20_000
"""In one line or ring; past that whoever waits is told at once."""
DEPTH_OF_FEATURES = 1
"""Levels above the list of features, which may be longer."""
DEEPEST = 12
"""Levels of nesting; outlines need eight."""

_TOKEN = re.compile(
    r"(?P<mark>[\[\]{},:])"
    r'|(?P<text>"[^"\\\x00-\x1f]*+(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\x00-\x1f]*+)*+")'
    r"|(?P<number>-?(?:0|[1-9][0-9]*+)(?:\.[0-9]++)?(?:[eE][+-]?[0-9]++)?)(?![\w.+-])"
    r"|(?P<word>true|false|null)(?!\w)"
)
_SPACE = re.compile(r"[ \t\n\r]*+")
_WORD = re.compile(r"[\w.+-]{1,24}|.", re.DOTALL)


@dataclass(frozen=True, slots=True)
class JsonNumber:
    """A number by its digits as they are written, so that it stays exact."""

    text: str


@dataclass(frozen=True, slots=True)
class JsonValue:
    """A value of the file and the place in the text, from 0, where it begins."""

    value: dict[str, JsonValue] | list[JsonValue] | str | JsonNumber | bool | None
    at: int


class NotJsonError(Exception):
    """Reading can't go on; the problem is already reported."""


class JsonTree:
    """Reads JSON (RFC 8259) keeping places and the digits of numbers; a key written twice is a problem."""

    def __init__(self, text: str, file: str) -> None:
        self.text, self.file = text, file
        self.here = begins = 1 if text.startswith("\N{ZERO WIDTH NO-BREAK SPACE}") else 0
        self.lines = [begins, *(found.end() for found in re.finditer(r"\r\n|\n|\r", text))]
        self.problems: list[Problem] = []

    def line(self, at: int) -> int:
        """The line of a place, counted from 1."""
        return max(1, bisect_right(self.lines, at))

    def problem(self, at: int, says: str) -> None:
        """Reports a problem at this place in the text."""
        line = self.line(at)
        self.problems.append(Problem(self.file, line, at - self.lines[line - 1] + 1, says))

    def document(self) -> JsonValue:
        """The one value of the text. Raises `NotJsonError` where it is none."""
        kind, sign, at = self._token()
        root = self._value(kind, sign, at, 0)
        self.here = _end(_SPACE, self.text, self.here)
        if self.here < len(self.text):
            raise self._fault(self.here, _("There is something after the end of the JSON; remove it."))
        return root

    def _fault(self, at: int, says: str) -> NotJsonError:
        self.problem(at, says)
        return NotJsonError()

    def _token(self) -> tuple[str, str, int]:
        at = _end(_SPACE, self.text, self.here)
        found = _TOKEN.match(self.text, at)
        if found is None:
            if at == len(self.text):
                raise self._fault(at, _("The file ends in the middle; get it whole."))
            if self.text[at] == '"':
                says = _(
                    "This text is not JSON: its quote is not closed on the line, or a backslash in it means nothing."
                )
                raise self._fault(at, says)
            word = _WORD.match(self.text, at)
            assert word is not None
            raise self._fault(at, _("“{word}” can't go here; this is not JSON.", word=word[0]))
        assert found.lastgroup is not None
        self.here = found.end()
        return found.lastgroup, found[0], at

    def _value(self, kind: str, sign: str, at: int, depth: int) -> JsonValue:
        if depth > DEEPEST:
            raise self._fault(
                at,
                _(
                    "Nested more than {deepest} levels deep; outlines and points are flatter than this.",
                    deepest=DEEPEST,
                ),
            )
        if kind == "number":
            return JsonValue(JsonNumber(sign), at)
        if kind == "text":
            return JsonValue(_unescaped(sign), at)
        if kind == "word":
            return JsonValue({"true": True, "false": False, "null": None}[sign], at)
        if sign == "{":
            return self._object(at, depth)
        if sign == "[":
            return self._array(at, depth)
        raise self._fault(at, _("“{sign}” can't go here; a value is expected.", sign=sign))

    def _array(self, at: int, depth: int) -> JsonValue:
        items: list[JsonValue] = []
        kind, sign, place = self._token()
        while sign != "]":
            if len(items) >= MOST_PLACES and depth > DEPTH_OF_FEATURES:
                raise self._fault(
                    place,
                    _(
                        "More than {most:,} places in one line or ring; leave some out.",
                        most=MOST_PLACES,
                    ),
                )
            items.append(self._value(kind, sign, place, depth + 1))
            kind, sign, place = self._after_item("]")
        return JsonValue(items, at)

    def _object(self, at: int, depth: int) -> JsonValue:
        members: dict[str, JsonValue] = {}
        key_at: dict[str, int] = {}
        kind, sign, place = self._token()
        while sign != "}":
            if kind != "text":
                raise self._fault(place, _("A key in quotes is expected here."))
            key = _unescaped(sign)
            _kind, colon, colon_at = self._token()
            if colon != ":":
                raise self._fault(colon_at, _("A colon is expected here, between key and value."))
            value = self._value(*self._token(), depth + 1)
            if key in members:
                says = _(
                    "“{key}” is written twice, first on line {line}; keep one.",
                    key=key[:LONGEST_TEXT],
                    line=self.line(key_at[key]),
                )
                self.problem(place, says)
            else:
                members[key], key_at[key] = value, place
            kind, sign, place = self._after_item("}")
        return JsonValue(members, at)

    def _after_item(self, closing: str) -> tuple[str, str, int]:
        """The next item's first sign, or the closing bracket."""
        kind, sign, at = self._token()
        if sign == closing:
            return kind, sign, at
        if sign != ",":
            raise self._fault(at, _("A comma or “{closing}” is expected here.", closing=closing))
        kind, sign, at = self._token()
        if sign == closing:
            raise self._fault(at, _("Nothing follows the last comma; remove the comma."))
        return kind, sign, at


def _end(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at


def _unescaped(token: str) -> str:
    return one_form(str(json.loads(token)) if "\\" in token else token[1:-1])
