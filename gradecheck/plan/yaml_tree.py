"""Reads YAML text into a tree of plain text that knows its lines; everything that could surprise is refused.

YAML turns ``1:48`` into 108, ``010`` into 8 and ``no`` into False, keeps the last of two equal keys without a
word, and lets an alias of 386 bytes fill the memory. Here every scalar is the text that was written, and
keys written twice, anchors, aliases, tags, invisible characters and deep nesting are problems on their line.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import yaml

from gradecheck.catalogue import _
from gradecheck.plan.names import INVISIBLE
from gradecheck.plan.problems import PlanProblemsError, Problem

if TYPE_CHECKING:
    from yaml._yaml import Mark as CMark

MOST = 20_000
"""Keys of one mapping, or items of one list; past that whoever waits is told at once."""
DEEPEST = 12
"""Levels of nesting; a job file has six."""
# What YAML allows in a file, less the three line ends that an editor does not count as such.
_NOT_ALLOWED = re.compile("[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
LOADER: type[yaml.SafeLoader] | type[yaml.CSafeLoader] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class At:
    """A place in the file, counted from 1."""

    line: int
    column: int


class MapNode(dict[str, "Node"]):
    """A YAML mapping, with the place of each key and of each value."""

    def __init__(self, at: At) -> None:
        super().__init__()
        self.at = at
        self.key_at: dict[str, At] = {}
        self.value_at: dict[str, At] = {}


class ListNode(list["Node"]):
    """A YAML sequence, with the place of each item."""

    def __init__(self, at: At) -> None:
        super().__init__()
        self.at = at
        self.item_at: list[At] = []


Node = str | MapNode | ListNode
KeyPath = tuple[str | int, ...]
"""The keys and places that lead to a node from the top."""


def read_yaml(text: str, file: str) -> tuple[MapNode, list[Problem]]:
    """The document as a tree, and the problems that did not keep the tree from being built.

    Raises `PlanProblemsError` when there is no tree: text that is not YAML, or a document that is not a mapping.
    """
    if found := _NOT_ALLOWED.search(text):
        line = text.count("\n", 0, found.start()) + 1
        column = found.start() - text.rfind("\n", 0, found.start())
        says = _("A character that can't go in a job file (U+{code:04X}); remove it.", code=ord(found[0]))
        raise PlanProblemsError([Problem(file, line, column, says)])
    reader = _YamlReader(file, text.count("\n"))
    try:
        root = reader.document(reader.followed(yaml.parse(text, Loader=LOADER)))
    except yaml.MarkedYAMLError as wrong:
        # A key without its colon is missed only on the next line, or past the end: told where the key begins.
        mark = wrong.context_mark if "simple key" in (wrong.context or "") else wrong.problem_mark
        at = reader.place(mark)
        says = _("This is not YAML: {problem}; check the indents, colons and quotes here.", problem=wrong.problem)
        raise PlanProblemsError([*reader.problems, Problem(file, at.line, at.column, says)]) from wrong
    except (ValueError, OverflowError) as wrong:
        # PyYAML written in Python lets these out of broken \\U escapes, without a place: it is after what was read.
        at = reader.reached
        says = _("A backslash escape in a quoted text is broken; write the character itself.")
        raise PlanProblemsError([*reader.problems, Problem(file, at.line, at.column, says)]) from wrong
    except _TooMuchError as wrong:
        raise PlanProblemsError(reader.problems) from wrong
    if not isinstance(root, MapNode):
        raise PlanProblemsError(
            [
                *reader.problems,
                Problem(file, 1, 1, _("A job file begins with keys, for example “job: Garden walk”.")),
            ]
        )
    return root, reader.problems


class _TooMuchError(Exception):
    """Nested deeper or longer than any job file; reading stops here."""


@dataclass
class _YamlReader:
    file: str
    line_ends: int
    problems: list[Problem] = field(default_factory=list)
    reached: At = At(1, 1)

    def followed(self, events: Iterable[yaml.Event]) -> Iterator[yaml.Event]:
        """The same events; keeps track of how far in the file they are."""
        for event in events:
            self.reached = self.place(event.end_mark)
            yield event

    def place(self, mark: yaml.Mark | CMark | None) -> At:
        """The place of a mark; the parser in C counts a line too many where the last one has no end."""
        if mark is None:
            return At(1, 1)
        return At(min(mark.line, self.line_ends) + 1, mark.column + 1)

    def document(self, events: Iterator[yaml.Event]) -> Node | None:
        root: Node | None = None
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._problem(event, _("A second document begins here; a job file is one document."))
                    break
            elif isinstance(event, yaml.NodeEvent):
                root = self._node(event, events, 0)
        return root

    def _node(self, event: yaml.Event, events: Iterator[yaml.Event], depth: int) -> Node:
        if depth > DEEPEST:
            self._problem(
                event, _("Nested more than {deepest} levels deep; a job file is flatter than this.", deepest=DEEPEST)
            )
            raise _TooMuchError
        if isinstance(event, yaml.AliasEvent):
            self._problem(event, _("There is an alias (*) here; write the value out."))
            return ""
        if getattr(event, "anchor", None):
            self._problem(event, _("There is an anchor (&) here; write each value out where it is used."))
        if getattr(event, "tag", None):
            self._problem(event, _("There is a tag (!) here; write the value as plain text."))
        if isinstance(event, yaml.MappingStartEvent):
            return self._map(event, events, depth)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._list(event, events, depth)
        assert isinstance(event, yaml.ScalarEvent)
        return self._text(event)

    def _map(self, start: yaml.Event, events: Iterator[yaml.Event], depth: int) -> MapNode:
        node = MapNode(self.place(start.start_mark))
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            self._mind_count(len(node), event)
            key = self._node(event, events, depth + 1)
            at = self.place(event.start_mark)
            value_event = next(events)
            value = self._node(value_event, events, depth + 1)
            if not isinstance(key, str):
                self._problem(event, _("A key must be plain text."))
                continue
            if key in node:
                says = _(
                    "“{key}” is written twice, first on line {line}; keep one.", key=key, line=node.key_at[key].line
                )
                self._problem(event, says)
                continue
            missing = isinstance(value_event, yaml.ScalarEvent) and value == "" and not value_event.style
            last = next(reversed(node), None)
            if missing and last is not None and comma_within(node[last], node.value_at[last], key, at):
                place = node.value_at[last]
                self.problems.append(Problem(self.file, place.line, place.column, comma_fault(str(node[last]), key)))
                continue
            if missing:
                says = _(
                    "Nothing is written after “{key}”; give a value (one that begins with # needs quotes).", key=key
                )
                self._problem(value_event, says)
            node[key] = value
            node.key_at[key] = at
            node.value_at[key] = self.place(value_event.start_mark)
        return node

    def _list(self, start: yaml.Event, events: Iterator[yaml.Event], depth: int) -> ListNode:
        node = ListNode(self.place(start.start_mark))
        for event in events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            self._mind_count(len(node), event)
            node.append(self._node(event, events, depth + 1))
            node.item_at.append(self.place(event.start_mark))
        return node

    def _mind_count(self, count: int, event: yaml.Event) -> None:
        if count >= MOST:
            self._problem(
                event,
                _("More than {most:,} entries in one place; put long lists into files of their own.", most=MOST),
            )
            raise _TooMuchError

    def _text(self, event: yaml.ScalarEvent) -> str:
        value: str = event.value
        if not value.isascii() or not value.isprintable():
            value = unicodedata.normalize("NFC", value)
            hidden = next((c for c in value if unicodedata.category(c) in INVISIBLE), None)
            if hidden is not None:
                self._problem(
                    event,
                    _("An invisible character (U+{code:04X}) is in this text; remove it.", code=ord(hidden)),
                )
        return value

    def _problem(self, event: yaml.Event, says: str) -> None:
        at = self.place(event.start_mark)
        self.problems.append(Problem(self.file, at.line, at.column, says))


def comma_within(one: Node, at: At, other: Node, other_at: At) -> bool:
    """Whether two texts with nothing but a comma between them are one number that somebody wrote with a comma."""
    if not isinstance(one, str) or not isinstance(other, str):
        return False
    together = at.line == other_at.line and at.column + len(one) + 1 == other_at.column
    return together and one[-1:].isdecimal() and other[:1].isdecimal()


def comma_fault(value: str, then: str) -> str:
    """What is said of a number with a comma in it, where commas part values."""
    return _(
        "The comma in “{value},{then}” ends the value; write a decimal point, or no comma.", value=value, then=then
    )


def locate_node(tree: Node, path: KeyPath) -> Node | None:
    """The node at the end of the path, or None where the file does not go so far."""
    node: Node | None = tree
    for step in path:
        if isinstance(node, MapNode) and isinstance(step, str):
            node = node.get(step)
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            return None
    return node


def locate(tree: MapNode, path: KeyPath, *, key: bool = False) -> At:
    """The place in the file of the path's value (or its key), or of the deepest part of it that is there."""
    at = tree.at
    node: Node = tree
    for depth, step in enumerate(path):
        last = depth == len(path) - 1
        if isinstance(node, MapNode) and isinstance(step, str) and step in node:
            deeper = isinstance(node[step], str)
            at = node.value_at[step] if deeper and not (last and key) else node.key_at[step]
            node = node[step]
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            at = node.item_at[step]
            node = node[step]
        else:
            break
    return at
