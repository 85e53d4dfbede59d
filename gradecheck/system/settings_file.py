"""Writes `settings.toml`: every key with a remark, and what a firm hands out to its laptops in one file.

What a person wrote there stays as it is, where it is.
"""

from __future__ import annotations

import json
import platform
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.language import FILE, LARGEST
from gradecheck.places import make_folders, write
from gradecheck.system.keymap import KEYS as ALL_KEYS
from gradecheck.system.keymap import STAY
from gradecheck.system.settings import KEYS, TABLE, parsed, position, understood

LAPTOPS = "laptops"
"""The table of a firm's file with a row for each laptop, by the name of the machine."""

Values = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Written:
    """What came of writing the file: the keys that it was given, and those that a person had given otherwise."""

    path: Path
    given: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()


def machine() -> str:
    """What this machine is called in its network, without the domain."""
    return platform.node().partition(".")[0]


def write_settings(folder: Path, values: Values | None = None) -> Written:
    """Gives the file in that folder every key that it lacks, with a remark; those of `values` with their value.

    Whole or not at all. Raises `ValueError` with line and column where the file there is no TOML, `OSError` where it
    can't be written.
    """
    path, values = folder / FILE, values or {}
    before = path.read_bytes() if path.exists() else b""
    text, has = parsed(before)
    new, given, kept = _filled_in(text, has, values)
    content = new.encode()
    # A file that reads another way than it should is never written, whatever someone had in it.
    if parsed(content)[1] != _merged(has, values):
        raise ValueError(_("line 1, column 1: this file can't be added to; write the settings in it by hand."))
    if len(content) > LARGEST:
        raise ValueError(_("line 1, column 1: more than {most} bytes; take something out.", most=LARGEST))
    if content != before:
        make_folders(folder)
        write(path, content)
    return Written(path, tuple(given), tuple(kept))


def handed_out(path: Path, name: str) -> dict[str, object]:
    """The same of the file at that path. Raises `OSError` too."""
    with path.open("rb") as file:
        return of_firm(file.read(LARGEST), name)


def of_firm(content: bytes, name: str) -> dict[str, object]:
    """What a firm's file says for the laptop of that name: what stands for all, and its own row before that.

    Raises `ValueError` with every fault, each with its line and column, or with the rows where none is this one's.
    """
    text, given = parsed(content)
    rows = given.pop(LAPTOPS, None)
    faults = understood(text, given)[1]
    own: dict[str, object] = {}
    if rows is not None:
        own, wrong = _own_row(text, rows, name)
        faults += wrong
    if faults:
        raise ValueError("\n".join(faults))
    return {**given, **own}


def _own_row(text: str, rows: object, name: str) -> tuple[dict[str, object], list[str]]:
    if not isinstance(rows, dict):
        return {}, [
            _("{at}: laptops is a table with a row for each machine.", at=position(text, LAPTOPS, of_key=True))
        ]
    faults: list[str] = []
    called: dict[str, str] = {}
    own: dict[str, object] | None = None
    for row, value in rows.items():
        row_values = {"laptop": value} if isinstance(value, str) else value
        if not isinstance(row_values, dict):
            at = position(text, row, LAPTOPS)
            faults.append(_('{at}: {row} is a name, as "north crew", or settings in braces.', at=at, row=row))
            continue
        table = LAPTOPS if isinstance(value, str) else f"{LAPTOPS}.{row}"
        settings, wrong = understood(text, row_values, table)
        if isinstance(value, str):
            wrong = [f"{position(text, row, LAPTOPS)}: {row}: laptop {KEYS['laptop'].says}." for _each in wrong]
        faults += wrong
        crew = settings.laptop.casefold()
        if crew and (other := called.setdefault(crew, row)) != row:
            at = position(text, row, LAPTOPS)
            faults.append(
                _(
                    "{at}: {row} is called {name}, as {other} is; each laptop needs a name of its own.",
                    at=at,
                    row=row,
                    name=settings.laptop,
                    other=other,
                )
            )
        if row.casefold() == name.casefold():
            own = dict(row_values)
    if own is None and not faults:
        faults.append(
            _(
                "There is no row for “{name}” under [laptops]; there are {rows}. Add one, or say --as ROW.",
                name=name,
                rows=", ".join(rows) or _("none"),
            )
        )
    return own or {}, faults


def _merged(has: Values, values: Values) -> dict[str, object]:
    return {**values, **has, TABLE: {**_table(values), **_table(has)}}


def _table(values: Values) -> Mapping[str, object]:
    keys = values.get(TABLE, {})
    return keys if isinstance(keys, dict) else {}


def _filled_in(text: str, has: Values, values: Values) -> tuple[str, list[str], list[str]]:
    """The text with what it lacks, the keys whose value was added, and those that had another and kept it."""
    lines = text.splitlines()
    given, kept = [], [key for key in values if key != TABLE and key in has and has[key] != values[key]]
    added: list[str] = []
    for key, known in KEYS.items():
        if key in has:
            continue
        line = f"{_bare(key)} = {_as_toml(values[key])}" if key in values else ""
        if key in values:
            given.append(key)
        example = f"# {_bare(key)} = {known.example}"
        if example in lines:
            if line:
                lines[lines.index(example)] = line
            continue
        if not any(_is_remark(each, key) for each in lines) or line:
            added += [f"# {known.remark}", line or example, ""]
    top = next((at for at, line in enumerate(lines) if line.lstrip().startswith("[")), len(lines))
    while top and lines[top - 1].lstrip().startswith("#"):  # the remark above a table belongs to it
        top -= 1
    if added and top and lines[top - 1].strip():
        added.insert(0, "")
    if not lines:
        added = [f"# {_FIRST_LINE}", "", *added]
    lines[top:top] = added
    _fill_in_keys(lines, has, values, given, kept)
    newline = "\r\n" if "\r\n" in text else "\n"
    whole = newline.join(lines)
    return (whole if not whole or whole.endswith(newline) else whole + newline), given, kept


def _fill_in_keys(lines: list[str], has: Values, values: Values, given: list[str], kept: list[str]) -> None:
    """The same for the table of keys, which is the last of the file."""
    wanted, there = _table(values), _table(has)
    new = {meaning: key for meaning, key in wanted.items() if meaning not in there}
    kept += [f"{TABLE}.{meaning}" for meaning in wanted if meaning in there and there[meaning] != wanted[meaning]]
    given += [f"{TABLE}.{meaning}" for meaning in new]
    header = f"[{TABLE}]"
    if TABLE not in has:
        lines += [f"# {_KEYS_REMARK}", header]
        lines += [f'# {meaning} = "{key}"' for meaning, (key, _word) in ALL_KEYS.items() if meaning not in STAY]
    if new and header in lines:
        at = lines.index(header) + 1
        lines[at:at] = [f"{meaning} = {_as_toml(key)}" for meaning, key in new.items()]


_FIRST_LINE = _("What this laptop likes. A line that begins with # counts for nothing; take the # off to use it.")
_KEYS_REMARK = _("Other keys: F1 to F12, or Ctrl and a letter; two meanings never share one.")


def _is_remark(line: str, key: str) -> bool:
    return re.match(rf"""\s*#\s*["']?{re.escape(key)}["']?\s*=""", line) is not None


def _bare(key: str) -> str:
    return f'"{key}"' if " " in key else key


def _as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    # What JSON escapes TOML understands; it holds no half of a pair, nor does anything that TOML read.
    return str(value) if isinstance(value, int) else json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
