"""A job file while it is edited: the changes made so far, the plan that they make, and what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import get_args, get_origin

from gradecheck.catalogue import _
from gradecheck.plan.edits import EditRefusedError, JobFileDraft, MoveEdit, Put
from gradecheck.plan.keys import fields_of, is_model, kinds_at
from gradecheck.plan.list_edits import (
    delete_in_list,
    list_at,
    move_in_list,
    put_in_list,
    rename_in_list,
    span_in_list,
)
from gradecheck.plan.model import Plan
from gradecheck.plan.names import one_form
from gradecheck.plan.problems import PlanProblemsError, Problem
from gradecheck.plan.references import delete, rename
from gradecheck.plan.spans import BYTE_ORDER_MARK, NoSpansError, Plain, part_at, spans
from gradecheck.plan.yaml_tree import KeyPath

Change = Callable[[JobFileDraft], JobFileDraft]
"""One thing a person changed; made anew on another text where the file changed meanwhile."""
Reads = Callable[[str, Mapping[str, str]], Plan]
"""Makes the plan of a text and the lists beside it, all with plain line ends. Raises `PlanProblemsError`."""


class Editing:
    """The text as it was read, the changes, and the plan that the last text makes; nothing is written here."""

    def __init__(self, opened: JobFileDraft, reads: Reads) -> None:
        self._reads = reads
        self.opened = opened
        self._made: list[tuple[JobFileDraft, Change]] = []
        self.draft = opened
        self.plan: Plan | None = None
        """What the text makes; the last that could be read, where this one can't be."""
        self.problems: tuple[Problem, ...] = ()
        self.read()

    @property
    def count(self) -> int:
        """How many changes there are."""
        return len(self._made)

    @property
    def is_changed(self) -> bool:
        """Whether the text is another than it was."""
        return self.draft != self.opened

    @property
    def changed_files(self) -> list[str]:
        """The lists whose text is another than it was, by their names."""
        return [name for name, text in self.draft.lists.items() if text != self.opened.lists.get(name)]

    def make(self, change: Change) -> None:
        """Makes a change; what it makes of the plan is told by `read`. Raises `EditRefusedError`."""
        before, self.draft = self.draft, change(self.draft)
        if self.draft != before:
            self._made.append((before, change))

    def take_back(self) -> bool:
        """Takes the last change back; whether there was one."""
        if not self._made:
            return False
        self.draft, _unused = self._made.pop()
        return True

    def begin_anew(self, opened: JobFileDraft) -> None:
        """Makes all changes once more on another text. Raises `EditRefusedError`, and then all is as it was."""
        made: list[tuple[JobFileDraft, Change]] = []
        draft = opened
        for _unused, change in self._made:
            made.append((draft, change))
            draft = change(draft)
        self.opened, self.draft, self._made = opened, draft, made

    def written(self) -> None:
        """The text is in the file now."""
        self.opened, self._made = self.draft, []

    def read(self) -> None:
        """Finds what plan the text makes, or what is wrong with it."""
        try:
            lists = {name: _plain_ends(text) for name, text in self.draft.lists.items()}
            self.plan, self.problems = self._reads(readable(self.draft), lists), ()
        except PlanProblemsError as wrong:
            self.problems = wrong.problems

    def problem_with(self, path: KeyPath) -> Problem | None:
        """What is wrong with the very value at that place, None where that can be."""
        listed = span_in_list(self.draft, path)
        part = part_at(self.draft.root, path) if listed is None else listed
        if part is None:
            return None
        text = self.draft.text if listed is None else listed.text
        begins, ends = (len(_plain_ends(text[:at])) for at in (part.start, part.end))
        starts = [0, *(found.end() for found in re.finditer("\n", _plain_ends(text)))]
        files = self.draft.lists if listed is None else (listed.file,)
        there = (each for each in self.problems if (each.file in files) == (listed is not None))
        placed = ((starts[min(each.line, len(starts)) - 1] + each.column - 1, each) for each in there)
        return next((each for at, each in placed if begins <= at <= ends), None)


def readable(draft: JobFileDraft) -> str:
    """The text as the loader takes it: plain line ends, no byte order mark."""
    return _plain_ends(draft.text)


def _plain_ends(text: str) -> str:
    return text.removeprefix(BYTE_ORDER_MARK).replace("\r\n", "\n").replace("\r", "\n")


# -- what people type, as a change


def putting(path: KeyPath, value: Plain, after: str | None = None) -> Change:
    """Sets the value there, with the keys above it that are not there yet."""

    def change(draft: JobFileDraft) -> JobFileDraft:
        if (found := list_at(draft, path)) is not None and found.rest:
            return put_in_list(draft, found, value, after)
        deep = len(path)
        while deep > 1 and not isinstance(draft.at(path[: deep - 1]), dict | list):
            deep -= 1
        inner = value
        for step in reversed(path[deep:]):
            inner = {str(step): inner}
        if deep < len(path) and isinstance(short := draft.at(path[:deep]), str) and (key := _short_key(path[:deep])):
            # ``P2: -3`` is short for its elevation, which stays beside what is added.
            inner = {key: short, **inner} if isinstance(inner, dict) else inner
        return draft.edited(Put(path[:deep], inner, after if deep == len(path) else None))

    return change


def _short_key(path: KeyPath) -> str:
    """The key that a text alone stands for in place of that entry; empty where it stands for none."""
    match path:
        case ("areas", str(), "points" | "added", str()) | ("benchmarks", str()):
            return "elevation"
        case ("pitch",):
            return "rule"
        case _:
            return ""


def renaming(path: KeyPath, to: str) -> Change:
    """Calls it otherwise, everywhere."""

    def change(draft: JobFileDraft) -> JobFileDraft:
        if (found := list_at(draft, path)) is not None and found.rest:
            return rename_in_list(draft, found, to)
        return rename(draft, path, to)

    return change


def deleting(path: KeyPath) -> Change:
    """Takes it out, and with the last of several the key above it, where that may be missing."""

    def change(draft: JobFileDraft) -> JobFileDraft:
        if (found := list_at(draft, path)) is not None and found.rest:
            return delete_in_list(draft, found)
        home = draft.at(path[:-1])
        alone = isinstance(home, dict | list) and len(home) == 1
        may_go = len(path) > 3 or (len(path) == 2 and path[0] not in ("areas", "benchmarks"))
        return delete(draft, path[:-1] if alone and may_go else path)

    return change


def moving(path: KeyPath, after: str | int | None) -> Change:
    """Puts it behind another one, before all where that is None."""

    def change(draft: JobFileDraft) -> JobFileDraft:
        if (found := list_at(draft, path)) is not None and found.rest:
            return move_in_list(draft, found, None if after is None else str(after))
        return draft.edited(MoveEdit(path, after))

    return change


def together(changes: list[Change]) -> Change:
    """All of them as one."""

    def change(draft: JobFileDraft) -> JobFileDraft:
        for each in changes:
            draft = each(draft)
        return draft

    return change


def typed_value(typed: str, path: KeyPath) -> Plain:
    """What was typed as a value: in brackets a list or keys, with commas a list where one belongs, else a text.

    Raises `EditRefusedError`.
    """
    text = one_form(" ".join(typed.split()))
    kinds = kinds_at(path)
    lists = any(get_origin(kind) in (list, tuple) for kind in kinds)
    if text[:1] in ("{", "[") or (lists and "[" in text):
        for written in (text, f"[{text}]"):  # items of a list may stand without brackets of their own
            try:
                read = spans(f"k: {written}\n").plain
            except NoSpansError:
                continue
            assert isinstance(read, dict)
            return read["k"]
        raise EditRefusedError(_("These brackets can't be read; write them like [12 ft, 20 ft]."))
    if lists and ("," in text or not any(get_origin(kind) is not list for kind in kinds)):
        parts = [part.strip() for part in text.split(",")]
        nested = any(get_origin(part) in (list, tuple) for kind in kinds if get_origin(kind) is list
                     for part in get_args(kind)[:1])  # fmt: skip
        if not nested or not all(parts):
            return [part for part in parts if part]
    return list_of_keys(text, path) or text


def list_of_keys(text: str, path: KeyPath) -> Plain | None:
    """``from P1, fall 2%, over 4 ft`` as an entry, where every part between commas begins with one of its keys."""
    known = sorted(
        (key for kind in kinds_at(path) if is_model(kind) for key in fields_of(kind)), key=len, reverse=True
    )
    found: dict[str, Plain] = {}
    last = ""
    for part in text.split(","):
        words = part.strip()
        key = next((key for key in known if words.casefold().startswith(f"{key} ")), None)
        if key is not None and key not in found:
            found[key], last = words[len(key) :].strip(" :"), key
        elif last and (before := found[last]) and isinstance(before, str):
            found[last] = f"{before}, {words}"  # a place has a comma of its own
        else:
            return None
    return {key: typed_value(str(value), (*path, key)) for key, value in found.items()} if found else None
