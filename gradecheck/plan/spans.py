"""The job file's text with the place of every key and value in it, for changing a part and leaving the rest alone."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import yaml

from gradecheck.catalogue import _
from gradecheck.plan.yaml_tree import DEEPEST, LOADER, KeyPath

if TYPE_CHECKING:
    from yaml._yaml import Mark as CMark

Plain = str | dict[str, "Plain"] | list["Plain"]
"""A part of a job file without places: texts, maps and lists."""
BYTE_ORDER_MARK = "\ufeff"


class NoSpansError(ValueError):
    """The text can't be taken apart; the message is one sentence."""


@dataclass(slots=True)
class Leaf:
    """A text in the file, from `start` to `end`, quotes included; `style` is ``'``, ``"``, ``|``, ``>`` or empty."""

    text: str
    start: int
    end: int
    style: str = ""

    @property
    def plain(self) -> Plain:
        """What is written there."""
        return self.text


@dataclass(slots=True)
class Branch:
    """A map (its entries have keys) or a list; `flow` where it stands in brackets, of which `start` and `end` tell.

    Written in lines of its own it ends with its last leaf.
    """

    is_map: bool
    flow: bool
    start: int
    end: int
    entries: list[tuple[Leaf | None, Part]] = field(default_factory=list)

    @property
    def plain(self) -> Plain:
        """What is written there."""
        if self.is_map:
            return {key.text: value.plain for key, value in self.entries if key is not None}
        return [value.plain for _unused, value in self.entries]

    def place(self, step: str | int) -> int | None:
        """Where among the entries that key or item is, None where it is not."""
        if isinstance(step, int):
            return step if not self.is_map and 0 <= step < len(self.entries) else None
        return next((at for at, (key, _unused) in enumerate(self.entries) if key and key.text == step), None)


Part = Leaf | Branch


def spans(text: str) -> Branch:
    """The text taken apart; places count from its beginning, a byte order mark included.

    Raises `NoSpansError` where it is no YAML, no map at the top, or has anchors, aliases, tags or double keys.
    """
    shift = len(text) - len(text.removeprefix(BYTE_ORDER_MARK))
    try:
        root = _Taking(text, shift).document()
    except NoSpansError:
        raise
    except (yaml.YAMLError, ValueError, OverflowError) as wrong:
        raise NoSpansError(_("This text can't be taken apart; correct it in an editor first.")) from wrong
    if not isinstance(root, Branch) or not root.is_map:
        raise NoSpansError(_("A job file begins with keys; correct it in an editor first."))
    return root


def part_at(root: Branch, path: KeyPath) -> Part | None:
    """The part at the end of the path, None where the file does not go so far."""
    part: Part = root
    for step in path:
        place = part.place(step) if isinstance(part, Branch) else None
        if place is None:
            return None
        assert isinstance(part, Branch)
        part = part.entries[place][1]
    return part


class _Taking:
    """Follows the parser's events once."""

    def __init__(self, text: str, shift: int) -> None:
        self.text, self.shift = text, shift
        self.events: Iterator[yaml.Event] = yaml.parse(text[shift:], Loader=LOADER)

    def document(self) -> Part | None:
        root: Part | None = None
        documents = 0
        for event in self.events:
            documents += isinstance(event, yaml.DocumentStartEvent)
            if documents > 1:
                raise NoSpansError(_("A second document begins in this file; correct it in an editor first."))
            if isinstance(event, yaml.NodeEvent):
                root = self.part(event, 0)
        return root

    def part(self, event: yaml.Event, depth: int) -> Part:
        named = getattr(event, "anchor", None) or getattr(event, "tag", None)
        if named or isinstance(event, yaml.AliasEvent) or depth > DEEPEST:
            raise NoSpansError(_("This file has anchors, tags or aliases; correct it in an editor first."))
        start = self.index(event.start_mark)
        if isinstance(event, yaml.ScalarEvent):
            value = event.value if event.value.isascii() else unicodedata.normalize("NFC", event.value)
            style = event.style or ""
            return Leaf(value, start, self.index(event.end_mark), "" if style == "\0" else style)
        is_map = isinstance(event, yaml.MappingStartEvent)
        assert isinstance(event, yaml.CollectionStartEvent)
        branch = Branch(is_map, bool(event.flow_style), start, start)
        seen = set[str]()
        while not isinstance(each := next(self.events), yaml.CollectionEndEvent):
            if not is_map:
                branch.entries.append((None, self.part(each, depth + 1)))
                continue
            key = self.part(each, depth + 1)
            if not isinstance(key, Leaf) or key.text in seen:
                raise NoSpansError(_("A key is written twice in this file; correct it in an editor first."))
            seen.add(key.text)
            branch.entries.append((key, self.part(next(self.events), depth + 1)))
        branch.end = self._end(branch, each)
        return branch

    def index(self, mark: yaml.Mark | CMark | None) -> int:
        """The place in the whole text that a mark means."""
        assert mark is not None
        return mark.index + self.shift

    def _end(self, branch: Branch, event: yaml.Event) -> int:
        """Behind the bracket; without one behind the last leaf, for the parser looks on as far as the next."""
        if branch.flow and self.text[branch.start : branch.start + 1] in ("{", "["):
            return self.index(event.end_mark)
        if not branch.entries:
            return branch.start
        key, value = branch.entries[-1]
        return max(value.end, key.end if key else 0)
