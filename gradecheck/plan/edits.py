"""Changes a part of a job file's text and nothing else of it: remarks, order, quotes and line ends stay as they are.

Each edit is a few splices at the places of what it changes. Nothing is guessed to have worked: the new text is taken
apart again, and must hold what the old one held but for that edit, in the same order; else it is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from gradecheck.catalogue import _
from gradecheck.plan.names import hidden_in, one_form
from gradecheck.plan.spans import Branch, Leaf, NoSpansError, Part, Plain, part_at, spans
from gradecheck.plan.yaml_tree import KeyPath

IN_LINES = ("points", "added", "instead", "edges", "curbs", "areas", "build-ups", "benchmarks", "datums", "walls",
            "rods", "tolerances", "layout", "bonds", "rules")  # fmt: skip
"""Keys whose entries are written each on a line of its own; what is below them stands in brackets."""


class EditRefusedError(ValueError):
    """This can't be changed in the text; the message is one sentence for the person who wants it."""


@dataclass(frozen=True, slots=True)
class Put:
    """What is at the path becomes the value; where nothing is there it is added, behind `after` or at the end.

    Of a map or list only the entries that differ are touched.
    """

    path: KeyPath
    value: Plain
    after: str | None = None


@dataclass(frozen=True, slots=True)
class Rename:
    """The key at the path is called otherwise."""

    path: KeyPath
    to: str


@dataclass(frozen=True, slots=True)
class Delete:
    """The key or item at the path is gone, with the remark behind it."""

    path: KeyPath


@dataclass(frozen=True, slots=True)
class MoveEdit:
    """The key or item at the path comes behind another of its own map or list, before all where that is None."""

    path: KeyPath
    after: str | int | None


Edit = Put | Rename | Delete | MoveEdit


@dataclass(frozen=True, slots=True)
class Splice:
    """From `start` to `end` of the old text stands `text` in the new one."""

    start: int
    end: int
    text: str


@dataclass(frozen=True)
class JobFileDraft:
    """A job file's text, line ends and byte order mark as in the file, that can be edited.

    `lists` are the texts, as they are in their files, of the point lists beside it.
    """

    text: str
    lists: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def root(self) -> Branch:
        """The text taken apart. Raises `EditRefusedError` where it can't be."""
        try:
            return spans(self.text)
        except NoSpansError as wrong:
            raise EditRefusedError(str(wrong)) from wrong

    @property
    def plain(self) -> dict[str, Plain]:
        """What is written in it."""
        plain = self.root.plain
        assert isinstance(plain, dict)
        return plain

    def at(self, path: KeyPath) -> Plain | None:
        """What is written there, None where nothing is."""
        part = part_at(self.root, path)
        return part.plain if part is not None else None

    def edited(self, *edits: Edit) -> JobFileDraft:
        """The text with those edits, all or none; the paths are those of this text. Raises `EditRefusedError`."""
        edits = tuple(_in_one_form(edit) for edit in edits)
        wanted = self.plain
        for edit in sorted(edits, key=_turn):
            _apply(wanted, edit)
        work = _Splicing(self.text, self.root)
        splices = [splice for edit in edits for splice in work.of(edit)]
        draft = replace(self, text=_spliced(self.text, splices))
        try:
            # Held against what was meant, order and all: repr tells two maps apart by their order too.
            proved = repr(draft.plain) == repr(wanted)
        except EditRefusedError:
            proved = False
        if not proved:
            raise EditRefusedError(_("This can't be changed here without changing more; edit the job file by hand."))
        return draft


def _in_one_form(edit: Edit) -> Edit:
    """The edit with letters and accents in one piece, as the job file is read. Raises `EditRefusedError`."""
    match edit:
        case Put(path, value, after):
            return Put(path, _checked(value), after)
        case Rename(path, to):
            return Rename(path, str(_checked(to)))
        case _:
            return edit


def _checked(value: Plain) -> Plain:
    if isinstance(value, Mapping):
        return {str(_checked(key)): _checked(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_checked(each) for each in value]
    if hidden_in(value) is not None:
        raise EditRefusedError(_("A character in this can't be seen; write it without."))
    return one_form(value)


# -- what is meant, on maps and lists alone


def _turn(edit: Edit) -> tuple[int, int, int]:
    """Paths are those of the old text: what moves or renames comes after what looks things up."""
    last = edit.path[-1] if edit.path else ""
    match edit:
        case Put():
            return 0, 0, 0
        case MoveEdit():
            return 1, 0, 0
        case Delete():
            return 2, 0, -last if isinstance(last, int) else 0
        case _:
            return 3, -len(edit.path), 0


def _apply(tree: Plain, edit: Edit) -> None:
    """Raises `EditRefusedError` where the path leads nowhere."""
    within, last = _parent(tree, edit.path)
    match edit:
        case Put(_unused, value, after):
            _put(within, last, value, after)
        case Delete():
            if not _has(within, last):
                raise _nowhere()
            del within[last]  # type: ignore[arg-type]
        case Rename(_unused, to):
            if not isinstance(within, dict) or last not in within:
                raise _nowhere()
            if to in within and to != last:
                raise EditRefusedError(_("“{name}” is there already; take another name.", name=to))
            _reorder(within, [(to if key == last else key, value) for key, value in within.items()])
        case MoveEdit(_unused, after):
            _move(within, last, after)


def _put(within: dict[str, Plain] | list[Plain], last: str | int, value: Plain, after: str | None) -> None:
    if isinstance(within, list):
        if not isinstance(last, int) or last > len(within):
            raise _nowhere()
        within[last : last + 1] = [_merged(within[last], value) if last < len(within) else value]
        return
    if not isinstance(last, str):
        raise _nowhere()
    if last in within or after is None:
        within[last] = _merged(within[last], value) if last in within else value
        return
    if after not in within:
        raise _nowhere()
    entries: list[tuple[str, Plain]] = []
    for key, each in within.items():
        entries += [(key, each)] + ([(last, value)] if key == after else [])
    _reorder(within, entries)


def _merged(old: Plain, new: Plain) -> Plain:
    """The new value, its keys in the order that the old one has them in, new ones last."""
    if isinstance(old, dict) and isinstance(new, dict):
        kept = {key: _merged(each, new[key]) for key, each in old.items() if key in new}
        return kept | {key: each for key, each in new.items() if key not in old}
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return [_merged(one, other) for one, other in zip(old, new, strict=True)]
    return new


def _move(within: dict[str, Plain] | list[Plain], last: str | int, after: str | int | None) -> None:
    if not _has(within, last) or (after is not None and not _has(within, after)) or last == after:
        raise _nowhere()
    if isinstance(within, list):
        assert isinstance(last, int)
        assert not isinstance(after, str)
        item = within[last]
        rest = [each for place, each in enumerate(within) if place != last]
        at = 0 if after is None else after + 1 - (after > last)
        within[:] = [*rest[:at], item, *rest[at:]]
        return
    entry = (str(last), within[str(last)])
    entries = [entry] if after is None else []
    for key, value in within.items():
        entries += ([(key, value)] if key != last else []) + ([entry] if key == after else [])
    _reorder(within, entries)


def _reorder(within: dict[str, Plain], entries: Sequence[tuple[str, Plain]]) -> None:
    within.clear()
    within.update(entries)


def _parent(tree: Plain, path: KeyPath) -> tuple[dict[str, Plain] | list[Plain], str | int]:
    if not path:
        raise _nowhere()
    here = tree
    for step in path[:-1]:
        if isinstance(here, str) or not _has(here, step):
            raise _nowhere()
        here = here[step]  # type: ignore[index]
    if isinstance(here, str):
        raise _nowhere()
    return here, path[-1]


def _has(within: dict[str, Plain] | list[Plain], step: str | int) -> bool:
    if isinstance(within, dict):
        return isinstance(step, str) and step in within
    return isinstance(step, int) and 0 <= step < len(within)


def _nowhere() -> EditRefusedError:
    return EditRefusedError(_("There is no such entry in the job file any more; look again."))


# -- the same in the text


def _spliced(text: str, splices: Sequence[Splice]) -> str:
    parts, done = [], 0
    for splice in sorted(splices, key=lambda each: (each.start, each.end)):
        if splice.start < done:
            raise EditRefusedError(_("These changes touch one another; make them one at a time."))
        parts += [text[done : splice.start], splice.text]
        done = splice.end
    return "".join([*parts, text[done:]])


_BREAK = re.compile("\r\n|\n|\r")


@dataclass
class _Splicing:
    text: str
    root: Branch

    @cached_property
    def end(self) -> str:
        """The line end that the file uses most."""
        found = _BREAK.findall(self.text)
        return max(("\n", "\r\n", "\r"), key=found.count)

    def of(self, edit: Edit) -> list[Splice]:
        """The splices of one edit."""
        within = part_at(self.root, edit.path[:-1])
        assert isinstance(within, Branch)  # the same was asked of the maps and lists before
        flow = within.flow or self._in_brackets(edit.path[:-1])
        place = within.place(edit.path[-1])
        match edit:
            case Put(path, value, after):
                if place is None:
                    return self._added(within, path, [(path[-1], value)], after)
                return self._changed(within.entries[place][1], value, path, flow)
            case Rename(_unused, to):
                assert place is not None
                key = within.entries[place][0]
                assert key is not None
                return [Splice(key.start, key.end, self._scalar(to, flow, key.style, is_key=True))]
            case Delete():
                assert place is not None
                return [self._deleted(within, place)]
            case MoveEdit(_unused, after):
                assert place is not None
                return self._moved(within, place, None if after is None else within.place(after))

    def _in_brackets(self, path: KeyPath) -> bool:
        part: Part = self.root
        for step in path:
            assert isinstance(part, Branch)
            if part.flow:
                return True
            place = part.place(step)
            assert place is not None
            part = part.entries[place][1]
        return False

    # -- changing

    def _changed(self, part: Part, value: Plain, path: KeyPath, flow: bool) -> list[Splice]:
        if part.plain == value:
            return []
        if isinstance(part, Leaf):
            if part.style in ("|", ">"):
                raise EditRefusedError(_("This is written as a block of lines; edit it in the job file by hand."))
            written = value if isinstance(value, str) else None
            text = self._flow(value) if written is None else self._scalar(written, flow, part.style)
            gap = " " if part.start == part.end and self.text[part.start - 1 : part.start] not in (" ", "") else ""
            return [Splice(part.start, part.end, gap + text)]
        if isinstance(value, str) or part.is_map != isinstance(value, dict):
            return [self._replaced(part, value, flow)]
        if isinstance(value, dict):
            return self._changed_map(part, value, path, flow)
        return self._changed_list(part, value, path, flow)

    def _replaced(self, part: Branch, value: Plain, flow: bool) -> Splice:
        """A map or list that becomes something else altogether."""
        if not self._has_brackets(part) or self._has_remark(part):
            raise EditRefusedError(_("This is written over several lines; change its parts one by one."))
        text = self._scalar(value, flow) if isinstance(value, str) else self._flow(value)
        return Splice(part.start, part.end, text)

    def _changed_map(self, part: Branch, value: dict[str, Plain], path: KeyPath, flow: bool) -> list[Splice]:
        names = [key.text for key, _unused in part.entries if key is not None]
        new = [(key, each) for key, each in value.items() if key not in names]
        gone = [place for place, name in enumerate(names) if name not in value]
        within = flow or part.flow
        if part.flow and (new or gone) and self._has_brackets(part) and self._on_one_line(part):
            kept = [self._entry_anew(entry, value[name], (*path, name), within)
                    for name, entry in zip(names, part.entries, strict=True) if name in value]  # fmt: skip
            kept += [self._pair(key, each) for key, each in new]
            return [Splice(part.start, part.end, "{" + ", ".join(kept) + "}")]
        if len(gone) == len(names) and names and not new:
            raise EditRefusedError(_("Nothing would be left here; delete the whole entry instead."))
        if part.flow and new and gone:
            raise EditRefusedError(_("This is written over several lines; change its parts one by one."))
        found = [splice for name, (_unused, each) in zip(names, part.entries, strict=True) if name in value
                 for splice in self._changed(each, value[name], (*path, name), within)]  # fmt: skip
        found += [self._deleted(part, place, last=bool(new)) for place in gone]
        return found + (self._added(part, (*path, ""), new, None) if new else [])

    def _changed_list(self, part: Branch, value: list[Plain], path: KeyPath, flow: bool) -> list[Splice]:
        old, within = [each.plain for _unused, each in part.entries], flow or part.flow
        if len(old) == len(value):
            changed = zip(part.entries, value, strict=True)
            return [splice for place, ((_unused, each), new) in enumerate(changed)
                    for splice in self._changed(each, new, (*path, place), within)]  # fmt: skip
        if part.flow and self._has_brackets(part) and self._on_one_line(part):
            same = next((at for at, (one, other) in enumerate(zip(old, value, strict=False)) if one != other),
                        min(len(old), len(value)))  # fmt: skip
            rest = min(len(old), len(value)) - same
            back = next((at for at in range(rest) if old[-1 - at] != value[-1 - at]), rest)
            texts = [self.text[each.start : each.end] for _unused, each in part.entries]
            middle = [self._flow(each) for each in value[same : len(value) - back]]
            return [Splice(part.start, part.end,
                           "[" + ", ".join([*texts[:same], *middle, *texts[len(texts) - back :]]) + "]")]  # fmt: skip
        if value[: len(old)] == old:
            return self._added(part, (*path, len(old)), list(enumerate(value[len(old) :])), None)
        gone = [place for place in range(len(old)) if [*old[:place], *old[place + 1 :]] == value]
        if gone:
            return [self._deleted(part, gone[0])]
        raise EditRefusedError(_("This is written over several lines; change its parts one by one."))

    def _entry_anew(self, entry: tuple[Leaf | None, Part], value: Plain, path: KeyPath, flow: bool) -> str:
        """The entry's own text, with what changed in it."""
        key, part = entry
        start, end = key.start if key else part.start, max(part.end, key.end if key else 0)
        inner = self._changed(part, value, path, flow)
        moved = [Splice(each.start - start, each.end - start, each.text) for each in inner]
        return _spliced(self.text[start:end], moved)

    # -- adding

    def _added(
        self, within: Branch, path: KeyPath, new: Sequence[tuple[str | int, Plain]], after: str | None
    ) -> list[Splice]:
        place = len(within.entries) - 1 if after is None else within.place(after)
        assert place is not None
        if within.flow:
            texts = [self._pair(str(key), value) if within.is_map else self._flow(value) for key, value in new]
            if not self._has_brackets(within):
                raise EditRefusedError(_("This is written without braces; edit it in the job file by hand."))
            if not within.entries:
                return [Splice(within.start + 1, within.start + 1, ", ".join(texts))]
            gap = self._gap(within, place)
            end = self._entry_end(within, place)
            return [Splice(end, end, "".join(gap + text for text in texts))]
        assert within.entries  # YAML has nothing empty but in brackets
        _unused, end = self._lines(within, place, strict=False)
        first = within.entries[0][0]
        indent = " " * (first.start - self._line_start(first.start) if first else 0)
        lines: list[str] = []
        for key, value in new:
            if within.is_map:
                lines += self._in_block(str(key), value, (*path[:-1], str(key)), indent)
            else:
                dash = self._dash(within, 0)
                lines.append(self.text[self._line_start(dash) : dash] + f"- {self._flow(value)}")
        return [Splice(end, end, self._as_lines(lines, end))]

    def _as_lines(self, lines: Sequence[str], at: int) -> str:
        if at == 0 or self.text[at - 1] in "\r\n":
            return "".join(line + self.end for line in lines)
        return "".join(self.end + line for line in lines)

    def _in_block(self, key: str, value: Plain, path: KeyPath, indent: str) -> list[str]:
        """The lines of an entry: the parts that people look for stand on lines of their own."""
        name = self._scalar(key, flow=False, is_key=True)
        of_area = len(path) == 2 and path[0] == "areas"
        apart = of_area or (len(path) in (1, 3) and key in IN_LINES)
        if not isinstance(value, dict) or not value or not apart:
            written = self._scalar(value, flow=False) if isinstance(value, str) else self._flow(value)
            return [f"{indent}{name}: {written}"]
        lines = [f"{indent}{name}:"]
        for each, inner in value.items():
            lines += self._in_block(each, inner, (*path, each), f"{indent}  ")
        return lines

    def _gap(self, within: Branch, place: int) -> str:
        """What parts entries here: a comma and a space, or where each stands on its line the same between all."""
        if place == len(within.entries) - 1 and place > 0:
            start = self._entry_start(within, place)
            gap = self.text[self._entry_end(within, place - 1) : start]
            if re.fullmatch(r",[ ]*(?:\r\n|\n|\r)[ ]*", gap):
                return gap
        return ", "

    # -- deleting and moving

    def _deleted(self, within: Branch, place: int, *, last: bool = False) -> Splice:
        """`last` where another entry takes the place of the only one."""
        if within.flow:
            return self._cut_of_flow(within, place)
        if len(within.entries) == 1 and not last:
            raise EditRefusedError(_("It is the only one here; delete the whole entry instead."))
        key = within.entries[place][0]
        if place == 0 and key is not None and self.text[self._line_start(key.start) : key.start].strip(" "):
            # The first key stands beside a dash; the next one takes its place there.
            if len(within.entries) == 1 or "#" in self._between(within, 0):
                raise EditRefusedError(_("This stands beside a dash; edit it in the job file by hand."))
            return Splice(self._entry_start(within, 0), self._entry_start(within, 1), "")
        start, end = self._lines(within, place)
        if end == len(self.text) and start and self.text[end - 1] not in "\r\n":
            start -= len(_BREAK.findall(self.text[max(0, start - 2) : start])[-1])  # no line end that was not there
        return Splice(start, end, "")

    def _cut_of_flow(self, within: Branch, place: int) -> Splice:
        start, end = self._entry_start(within, place), self._entry_end(within, place)
        if place + 1 < len(within.entries):
            between, cut = self._between(within, place), Splice(start, self._entry_start(within, place + 1), "")
        elif place:
            between, cut = self._between(within, place - 1), Splice(self._entry_end(within, place - 1), end, "")
        else:
            between, cut = "", Splice(start, end, "")
        if "#" in between:
            raise EditRefusedError(_("A remark stands beside this; edit it in the job file by hand."))
        return cut

    def _moved(self, within: Branch, place: int, after: int | None) -> list[Splice]:
        if after is not None and after == place - 1:
            return []
        if within.flow:
            text = self.text[self._entry_start(within, place) : self._entry_end(within, place)]
            cut = self._cut_of_flow(within, place)
            if after is None:
                start = self._entry_start(within, 0)
                return [] if place == 0 else [Splice(start, start, f"{text}, "), cut]
            end = self._entry_end(within, after)
            return [Splice(end, end, self._gap(within, after) + text), cut]
        if place == 0 and after is None:
            return []
        start, end = self._lines(within, place)
        cut = self._deleted(within, place)
        lines = _BREAK.split(self.text[start:end])
        lines = lines if lines[-1] else lines[:-1]
        to = self._lines(within, 0)[0] if after is None else self._lines(within, after)[1]
        return [Splice(to, to, self._as_lines(lines, to)), cut]

    # -- places

    def _entry_start(self, within: Branch, place: int) -> int:
        key, value = within.entries[place]
        return key.start if key is not None else value.start

    def _entry_end(self, within: Branch, place: int) -> int:
        key, value = within.entries[place]
        return max(value.end, key.end if key is not None else 0)

    def _between(self, within: Branch, place: int) -> str:
        """What stands between an entry and the next."""
        return self.text[self._entry_end(within, place) : self._entry_start(within, place + 1)]

    def _line_start(self, at: int) -> int:
        return max(self.text.rfind("\n", 0, at), self.text.rfind("\r", 0, at)) + 1 or (self.text[:1] == "\ufeff")

    def _line_end(self, at: int) -> int:
        """Behind the line end of the line that holds what ends there."""
        if at and self.text[at - 1] in "\r\n":
            return at  # a block of lines ends with its own
        found = _BREAK.search(self.text, at)
        return found.end() if found else len(self.text)

    def _dash(self, within: Branch, place: int) -> int:
        """Where the dash before an item stands."""
        start = self._entry_start(within, place)
        return self.text.rindex("-", self._line_start(start), start)

    def _lines(self, within: Branch, place: int, *, strict: bool = True) -> tuple[int, int]:
        """From the start of an entry's first line to the end of its last."""
        key, value = within.entries[place]
        begins = key.start if key is not None else value.start
        start = self._line_start(begins)
        before = self.text[start:begins]
        if strict and (before.strip(" ") if key is not None else re.fullmatch(r" *- *", before) is None):
            raise EditRefusedError(_("This stands beside a dash; edit it in the job file by hand."))
        return start, self._line_end(self._entry_end(within, place))

    def _has_brackets(self, part: Branch) -> bool:
        return part.flow and self.text[part.start : part.start + 1] in ("{", "[")

    def _on_one_line(self, part: Branch) -> bool:
        return _BREAK.search(self.text, part.start, part.end) is None

    def _has_remark(self, part: Branch) -> bool:
        """Whether a # stands in it outside of its texts."""
        at = part.start
        for leaf in _leaves(part):
            if "#" in self.text[at : leaf.start]:
                return True
            at = leaf.end
        return "#" in self.text[at : part.end]

    # -- writing

    def _pair(self, key: str, value: Plain) -> str:
        return f"{self._scalar(key, flow=True, is_key=True)}: {self._flow(value)}"

    def _flow(self, value: Plain) -> str:
        if isinstance(value, str):
            return self._scalar(value, flow=True)
        if isinstance(value, dict):
            return "{" + ", ".join(self._pair(key, each) for key, each in value.items()) + "}"
        return "[" + ", ".join(map(self._flow, value)) + "]"

    def _scalar(self, value: str, flow: bool, style: str = "", *, is_key: bool = False) -> str:
        """The text as YAML reads it back: quoted as it was, plain where it can be, else between single quotes."""
        if style == '"' and '"' not in value and "\\" not in value:
            return f'"{value}"'
        if style != "'" and _stays_plain(value, flow, is_key):
            return value
        return "'" + value.replace("'", "''") + "'"


_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ./%_-]*[A-Za-z0-9/%_])?")


def _stays_plain(value: str, flow: bool, is_key: bool) -> bool:
    if _PLAIN.fullmatch(value):
        return True
    pair = f"{value}: k" if is_key else f"k: {value}"
    try:
        read = spans("{" + pair + "}" if flow else pair + "\n")
    except NoSpansError:
        return False
    if len(read.entries) != 1:
        return False
    key, part = read.entries[0]
    leaf = key if is_key else part
    return isinstance(leaf, Leaf) and leaf.text == value and not leaf.style


def _leaves(part: Part) -> Iterator[Leaf]:
    if isinstance(part, Leaf):
        yield part
        return
    for key, value in part.entries:
        if key is not None:
            yield key
        yield from _leaves(value)
