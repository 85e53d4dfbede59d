"""Hostile names: every screen, answer and file of a job full of them is that of its twin, letter for letter.

The twin's names are as long, and each of their letters stands nowhere else. So where a letter of a twin's name
stands, the hostile name's own must stand, and all the rest must be the same: nothing is lost, moved, obeyed or run.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import random
import re
import shutil
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path

import pytest
from textual.content import Content
from textual.markup import MarkupError

from gradecheck.app import plain
from gradecheck.app.widgets import line as lines_of_words
from gradecheck.app.widgets.letters import large
from gradecheck.cli import shared
from tests.app.driving import SCREENS
from tests.faults.figures import Figures
from tests.faults.named import FIELDS, Named, Names, drawn
from tests.faults.refused import refusals
from tests.faults.told import Said, said
from tests.faults.toured import TOURS, Picture, job_in, tour
from tests.pty.terminal import Terminal, gradecheck_command

NAME = "hostile names"
QUICK, LONG = 1, 60
SIZES = ((140, 50), (80, 60), (100, 50), (200, 50))
"""Columns and lines; high enough that nothing is below the window because its words fall otherwise on lines."""
CLICK_EVERY = (23, 3)
"""Every so manieth cell is clicked on: in the quick form, and in the long one."""
WRONG = ("actions", "obeyed", "changed", "cut", "broke", "unseen")
NOWHERE = frozenset(("build-up", "paver", "wall"))
"""Fields that only others refer to."""
KEYS = (b"\r", b"\x1b[17~", b"\x1b", b"\x1bOS", b"\x1b", b"\x1b[20~", b"\x1b")
"""The cautions signed, the log, a setup, the day; each left again."""
QUIT = b"\x1b[24~"
QUIET = 0.1
PATIENCE = 60.0
"""Seconds for one tour; an app that a name has ended would be waited for without end."""
_VARIES = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{8,64}|\d\d:\d\d(?::\d\d)?|(?:[0-9A-HJKMNP-TV-Z]{4}\s?){8}")
_SEQUENCE = re.compile(rb"\x1b(?:\[([?<>=]?)([0-9;:]*)[ -/]*([@-~])|(\][0-9]*(?:;[a-z]*\x07)?|[P_^X])|([^\[]))")


def run(folder: Path, jobs: int, seed: int) -> list[Figures]:
    """So many jobs with names of their own; as controls a screen that reads them as markup, and a raw answer."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("NO_COLOR", "FORCE_COLOR", "GRADECHECK_BY", "COLUMNS"):
            patch.delenv(name, raising=False)
        patch.setenv("TERM", os.environ.get("TERM", "xterm-256color"))
        every = CLICK_EVERY[jobs > QUICK]
        seen: set[str] = set()
        rows = [
            _rows("every screen", folder / "screens", range(jobs), seed, partial(_screens, seen=seen, every=every)),
            _rows("every answer and file", folder / "said", range(jobs), seed, partial(_answers, seen=seen)),
            _rows("in a terminal", folder / "terminal", range(0, jobs, 10), seed, _terminal),
            refusals(NAME, jobs, seed),
        ]
        unseen = [] if any(row.wrong for row in rows) else sorted({*FIELDS} - seen - NOWHERE)
        unseen += sorted({*SCREENS} - {"check"}.union(*TOURS.values()))
        rows.append(
            Figures(NAME, "fields and screens not seen", {"fields": len(FIELDS)}, len(unseen), example=str(unseen))
        )
        rows += _controls(folder, seed, patch)
    return rows


Job = Callable[[Path, random.Random, Counter[str]], Iterable[str]]


def _rows(what: str, folder: Path, jobs: Iterable[int], seed: int, job: Job, *, control: bool = False) -> Figures:
    """What came of each job; what is wrong is counted and told as `kind: where`."""
    counts = Counter(dict.fromkeys(("jobs", *WRONG), 0))
    example = ""
    for number in jobs:
        counts["jobs"] += 1
        try:
            wrong = [*job(folder / str(number), random.Random(f"{seed}/{number}"), counts)]
        except Exception as end:  # noqa: BLE001 - whatever it is, a name has ended the program
            wrong = [f"broke: {type(end).__name__}: {end}"]
        shutil.rmtree(folder, ignore_errors=True)
        counts.update(each.partition(":")[0] for each in wrong)
        example = example or "".join(f"seed {seed}, job {number}: {each}" for each in wrong[:1])
    return Figures(NAME, what, dict(counts), sum(counts[name] for name in WRONG), control=control, example=example)


# -- screens


def _screens(
    folder: Path,
    draw: random.Random,
    counts: Counter[str],
    seen: set[str],
    every: int,
    states: Iterable[str] = TOURS,
    given: Mapping[str, str] = {},
) -> Iterator[str]:
    size, names = draw.choice(SIZES), drawn(draw, given)
    for state in states:
        twins = _toured(state, folder, names.twin.__getitem__, size, every)
        hostile = _toured(state, folder, names.hostile.__getitem__, size, every)
        for twin, shown in zip(twins, hostile, strict=True):
            counts["screens"] += 1
            yield from ["actions: " + shown.where] * (shown.actions + shown.left)
            yield from (f"actions: {each} on {shown.where}" for each in _ran_otherwise(twin, shown))
            yield from ["obeyed: " + shown.where] * shown.obeyed
            if shown.clicked:
                continue
            letters = [c for line in twin.lines for c in line if c.strip()]
            seen.update(names.fields_in(letters))
            yield from (f"cut: {name} on {twin.where} at {size}" for name in names.cut_in(letters))
            yield from _differences(
                _expected(twin, names), _written(_with_plain_name(twin, shown, names)), f"{shown.where} at {size}"
            )


def _ran_otherwise(twin: Picture, shown: Picture) -> list[str]:
    """What clicks run on one of the two only: a key or a row that is tapped does the same under any names."""
    under_twins, under_hostile = Counter(twin.ran), Counter(shown.ran)
    return [*((under_hostile - under_twins) + (under_twins - under_hostile)).elements()]


def _with_plain_name(twin: Picture, shown: Picture, names: Names) -> list[list[str]]:
    """The lines, with the point's name as text where it stands in large letters: a twin's has none in the face."""
    first, last = twin.letters.start, twin.letters.stop
    name = names.put_for("".join("".join(line) for line in twin.lines[first:last])).strip()
    found = ["".join(line) for line in shown.lines[first:last]]
    if _is_in_large(found, name, len(twin.lines[0])):
        return [*shown.lines[:first], [name], *shown.lines[last:]]
    return shown.lines


def _is_in_large(found: Sequence[str], name: str, width: int) -> bool:
    """Whether the lines are the name in large letters of any size, in one line of them or its first word above.

    How each letter looks is held by the tests of the face.
    """
    for rows in range(len(found) + 1):
        if (whole := _cropped(large(name, width, rows))) and _cropped(found) == whole:
            return True
        parts = [_cropped(large(part, width, rows)) for part in name.split(" ", 1)]
        if all(parts) and any([_cropped(found[:at]), _cropped(found[at:])] == parts for at in range(len(found))):
            return True
    return False


def _cropped(lines: Sequence[str]) -> list[str]:
    """What is drawn, without the blanks around it."""
    drawn = [line.rstrip() for line in lines if line.strip()]
    margin = min((len(line) - len(line.lstrip()) for line in drawn), default=0)
    return [line[margin:] for line in drawn]


def _toured(state: str, folder: Path, named: Named, size: tuple[int, int], every: int = 0) -> list[Picture]:
    """The tour, in the same folder for both, so that its name is not what differs."""
    try:
        touring = tour(state, folder / state.replace(" ", "-"), named, size, every=every)
        return asyncio.run(asyncio.wait_for(touring, PATIENCE))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _expected(twin: Picture, names: Names) -> str:
    return "".join("".join(map(names.put_for, map("".join, twin.lines))).split())


def _written(lines: list[list[str]]) -> str:
    return "".join("".join(cell for line in lines for cell in line).split())


def _differences(expected: str, found: str, where: str) -> Iterator[str]:
    expected, found = _VARIES.sub("#", expected), _VARIES.sub("#", found)
    if expected != found:
        at = next((n for n, (a, b) in enumerate(zip(expected, found, strict=False)) if a != b), 0)
        yield f"changed: {where}: “{found[max(0, at - 30) : at + 30]}” for “{expected[max(0, at - 30) : at + 30]}”"


# -- answers and files


def _answers(
    folder: Path, draw: random.Random, counts: Counter[str], seen: set[str], only: str = ""
) -> Iterator[str]:
    state, by_cells = draw.getstate(), drawn(draw)
    draw.setstate(state)
    by_letters = drawn(draw, by_cells=False)  # the same names; plain tables count letters, drawings cells
    hostile = _said(folder, by_letters.hostile.__getitem__, only)
    twins = _said(folder, by_letters.twin.__getitem__, only)
    drawings: dict[str, Said] = {}
    for twin, told in zip(twins, hostile, strict=True):
        counts["answers"] += bool(told.raw)
        yield from ["obeyed: " + told.where] * (not fits_a_terminal(told.raw))
        if told.where == "day.pdf":
            yield from _not_in(told.texts[0], by_letters, ("title", "area", "weather", "crew"))
            continue
        letters = [c for text in twin.texts for c in text if c.strip()]
        seen.update(by_letters.fields_in(letters))
        yield from (f"cut: {name} in {twin.where}" for name in by_letters.cut_in(letters))
        wrong = [*_differences(_meant(twin, by_letters), _plainly(told.texts), told.where)]
        if wrong and not drawings:
            drawings = {each.where: each for each in _said(folder, by_cells.twin.__getitem__, only or "plan")}
        if wrong and told.where in drawings:
            wrong = [*_differences(_meant(drawings[told.where], by_cells), _plainly(told.texts), told.where)]
        yield from wrong


def _said(folder: Path, named: Named, only: str = "") -> list[Said]:
    try:
        job, _ = job_in("check", folder / "check", named)
        return [*said(job, named, only)]
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _meant(twin: Said, names: Names) -> str:
    return _plainly(map(names.put_for, twin.texts))


def _plainly(texts: Iterable[str]) -> str:
    return "|".join(plain.clean("".join(text.split())) for text in texts)


def _not_in(text: str, names: Names, fields: Iterable[str]) -> Iterator[str]:
    """Fields of plain letters that are not in the text, spaces and breaks aside."""
    whole = _bare(text)
    yield from (f"changed: {each} is not in the PDF" for each in fields if _bare(names.hostile[each]) not in whole)


def _bare(text: str) -> str:
    """What every font has, with nothing that a break, an accent or a true minus may have changed."""
    return "".join(c for c in text if c.isascii() and c.isalpha() and c not in "aeo")


def fits_a_terminal(text: str) -> bool:
    """Whether a terminal takes the text for nothing but text, line for line."""
    return all(c in "\r\n" or c.isprintable() or unicodedata.category(c) == "Zs" for c in text)


# -- in a terminal


def _terminal(folder: Path, draw: random.Random, counts: Counter[str]) -> Iterator[str]:
    """The app in a terminal: whatever it sends there, it sends with harmless names too."""
    names = drawn(draw)
    jobs = [job_in("check", folder / each, getattr(names, each).__getitem__)[0] for each in ("twin", "hostile")]
    sent = _sent(*jobs)
    kinds, more = (Counter(map(_kind, _SEQUENCE.finditer(each))) for each in sent)
    counts["kinds"] += len(kinds)
    counts["sequences"] += more.total()
    yield from (f"obeyed: {kind!r} in a terminal" for kind in more if kind not in kinds)
    bells, others = (Counter(each for each in _SEQUENCE.sub(b"", all_of_it).decode() if not fits_a_terminal(each))
                     for all_of_it in sent)  # fmt: skip
    yield from (f"obeyed: {each!r} in a terminal" for each in (others - bells).elements())


def _sent(*jobs: Path) -> list[bytes]:
    """What the app sends for each job; the same keys go to all of them, side by side."""
    with contextlib.ExitStack() as open_ones:
        terminals = [
            open_ones.enter_context(Terminal(gradecheck_command("open", str(job)), columns=140, lines=50))
            for job in jobs
        ]
        for terminal in terminals:
            terminal.wait_for("Keys", PATIENCE)
        for key in (*KEYS, QUIT):
            for terminal in terminals:
                terminal.settle(QUIET)
            for terminal in terminals:
                terminal.send(key)
        for terminal in terminals:
            assert terminal.wait() == 0
            terminal.kill()  # waits for the last of what was sent
        return [terminal.output() for terminal in terminals]


def _kind(found: re.Match[bytes]) -> str:
    """What a sequence is, without its figures; modes that are set are told apart."""
    private, figures, final, string, other = (part.decode() if part else "" for part in found.groups())
    return string or other or private + (figures if final in "hl" else "") + final


# -- controls


def _controls(folder: Path, seed: int, patch: pytest.MonkeyPatch) -> Iterator[Figures]:
    linked = {"is p2": "[@click=app.quit]at the gate[/]"}  # said above the box, and long enough to be clicked on
    screens = partial(_screens, seen=set(), every=5, states=("doubt",), given=linked)
    answers = partial(_answers, seen=set(), only="log")
    patch.setattr(lines_of_words, "plain", _read_as_markup)
    yield _rows("a screen that reads markup", folder / "markup", range(1), seed, screens, control=True)
    patch.setattr(lines_of_words, "plain", plain.plain)
    patch.setattr(shared, "printable", str)
    yield _rows("a log that is written raw", folder / "raw", range(1), seed, answers, control=True)


def _read_as_markup(text: str) -> Content:
    try:
        return Content.from_markup(text)
    except MarkupError:  # what can't be read is left as it is, or the app would end at once
        return Content(text)
