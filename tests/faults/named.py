"""A job with a hostile text in every field, and its twin, each of whose letters says which text it stands for."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import yaml
from rich.cells import split_graphemes

from gradecheck import actions
from gradecheck.actions.entered import LONGEST_INITIALS
from gradecheck.app.plain import clean
from gradecheck.plan.load import PLAN_NAME, understand
from gradecheck.plan.names import LONGEST_NAME, name_fault, one_form, point_name_fault
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface
from tests.app.driving import Clock

PIECES = (
    *("[@click=app.quit]A[/]", "[/]", "[TBM]", "slab[b]", "[b", "[red]x[/red]", "]", "$x", "$error", "{0}", "%s"),
    *("\\", "end\\", "<script>", "</svg>", "&amp;", "&", "'", '"', "“", "=1+1", "-rf", "@A1", "+1", "#", ":", ","),
    *(";", "`x`", "*b*", "_", "~", "|", "!", "?", "../x", "a/b", "CON", "None", "שלום", "مرحبا", "e\u0323\u0301"),
    *("a\u0308o\u0335", "現場", "テスト", "한글", "\U0001f9f1", "\u2764", "ﬁ", "İ", "½", "٣", "３", "x" * 9, "q w"),
)  # fmt: skip
"""What readers of markup, formats, shells, spreadsheets and terminals have stumbled over elsewhere."""
HIDDEN = (
    *("\x1b[2J", "\x1b]0;x\x07", "\x1b]52;c;QQ==\x07", "\x9b31m", "\x07", "\x00", "\x7f", "\u200b", "\u200d"),
    *("\u202e", "\u2028", "\ufeff", "\u00ad", "\u061c", "\u2066", "\u206a", "\ue000", "\U000e0041"),
    "\U0001f468\u200d\U0001f469",
)  # fmt: skip
"""What nobody sees, or a terminal would obey; none of it is let into a plan."""
INSIDE_A_FOLDER = "/\0"
NOT_IN_A_FOLDER = '/\\:*?"<>|'

Named = Callable[[str], str]
"""The text of a field."""

TRIES = 50
ELLIPSIS = ("…", ".")
"""What stands where a text was cut; the second one where there is nothing but ASCII."""

POINTS = ("p1", "p2", "p3", "p4", "p5", "p6")
TYPABLE = ("pin", "nail", "wall", *POINTS, "q1", "made", "added")
"""Fields whose name is typed where a reading can be: it begins with a letter."""
NAMES = ("area", "pool", "rod", "other rod", "build-up", "paver", "bed", "base", "datum", "square", "bond")
IN_THE_PLAN = ("title", "door", "is pin", "is area", "from", *(f"is {point}" for point in POINTS), "is q1")
FREE = ("note", "about", "why", "struck", "gauged", "weather", "crew", "remark", "why made")
"""Texts that are kept as a person typed them, whatever is in them."""
TYPED = ("typed", "begun")
"""What is typed where it is refused, and as the folder of a new job."""
FIELDS = ("folder", "home", "by", *TYPABLE, *NAMES, *IN_THE_PLAN, "is made", "is added", *FREE, *TYPED)


def _blocks() -> Iterator[str]:
    """Letters of one cell, without small ones and capitals, that nothing else here is written in."""
    for first, last in (
        (0x1401, 0x166C),
        (0xA500, 0xA60B),
        (0x12000, 0x12399),
        (0x13000, 0x1342E),
        (0x14400, 0x14646),
    ):
        yield from map(chr, range(first, last + 1))


@cache
def _letters() -> tuple[str, ...]:
    return tuple(c for c in _blocks() if c.isalpha() and one_form(c) == c and cells(c) == [c])


def cells(text: str) -> list[str]:
    """What stands in each cell of a terminal: a letter with its accents, and nothing behind a wide one."""
    if text.isascii() and text.isprintable():
        return [*text]
    found: list[str] = []
    for first, last, wide in split_graphemes(text)[0]:
        if wide:
            found += [text[first:last], *[""] * (wide - 1)]
        elif found:
            found[-1] += text[first:last]
    return found


@dataclass
class Names:
    """For each field a hostile text and its twin, as wide on a screen and made of letters that stand nowhere else."""

    by_cells: bool
    hostile: dict[str, str] = field(default_factory=dict)
    twin: dict[str, str] = field(default_factory=dict)
    meaning: dict[str, str] = field(default_factory=dict)
    """For each letter of a twin what stands in its place on the hostile screen; nothing behind a wide one."""
    place: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    """For each letter of a twin its field, the how manieth cell it is, and of how many."""

    def add(self, name: str, text: str, letters: Iterator[str]) -> None:
        """A field and its text; what is not to be seen in it stands on the screen as a character that is."""
        shown = cells(clean(text)) if self.by_cells else list(clean(text))
        made = [" " if each == " " else next(letters) for each in shown]
        self.hostile[name], self.twin[name] = text, "".join(made)
        counted = [(letter, each) for letter, each in zip(made, shown, strict=True) if letter != " "]
        for number, (letter, each) in enumerate(counted):
            self.meaning[letter], self.place[letter] = each, (name, number, len(counted))

    def fields_in(self, letters: Iterable[str]) -> set[str]:
        """The fields whose twins are among the letters."""
        return {self.place[letter][0] for letter in letters if letter in self.place}

    def cut_in(self, letters: Sequence[str]) -> Iterator[str]:
        """The fields whose twin is not there from its first letter to its last, and no ellipsis says so."""
        for at, letter in enumerate(letters):
            if letter not in self.place:
                continue
            name, number, count = self.place[letter]
            before, after = letters[at - 1] if at else "", letters[at + 1] if at + 1 < len(letters) else ""
            goes_on = number + 1 == count or after in ELLIPSIS or self.place.get(after) == (name, number + 1, count)
            began = number == 0 or name in TYPED or self.place.get(before) == (name, number - 1, count)
            if not (goes_on and began):
                yield name

    def put_for(self, text: str) -> str:
        """A text of the twin with the hostile texts in it; a wide letter that was cut in two is left out."""
        after = [*text[1:], ""][: len(text)]
        return "".join(
            self.meaning.get(c, c) for c, next_one in zip(text, after, strict=True) if self._whole(c, next_one)
        )

    def _whole(self, letter: str, after: str) -> bool:
        if not self.by_cells or letter not in self.meaning or len(cells(self.meaning[letter])) < 2:
            return True
        name, number, count = self.place[letter]
        return self.place.get(after) == (name, number + 1, count)


def drawn(draw: random.Random, given: Mapping[str, str] = {}, *, by_cells: bool = True) -> Names:
    """A hostile text for each field, such as it takes; where two would be one to a reader, all are drawn anew."""
    for _ in range(TRIES):
        names = _drawn(draw, given, by_cells=by_cells)
        with contextlib.suppress(PlanProblemsError):
            understand(job_text(names.hostile.__getitem__), PLAN_NAME, str)
            return names
    raise AssertionError(f"no plan may have such names: {names.hostile}")


def _drawn(draw: random.Random, given: Mapping[str, str], *, by_cells: bool) -> Names:
    names, letters, taken = Names(by_cells), iter(_letters()), set[str]()
    for each in FIELDS:
        text = given.get(each) or next(text for text in _texts(draw, each) if text.casefold() not in taken)
        taken.add(text.casefold())
        names.add(each, text, letters)
    return names


def _texts(draw: random.Random, name: str) -> Iterator[str]:
    while True:
        most = (
            LONGEST_NAME
            if name in (*TYPABLE, *NAMES)
            else 40
            if name in ("folder", "home")
            else draw.choice((20, 40, 110))
        )
        if name == "by":
            text = draw.choice(("ŽÉ", "現場", "שלום", "Q9", "ÄÖ"))[:LONGEST_INITIALS].upper()
        elif name in TYPABLE:
            text = draw.choice("PQXÉשカ") + phrase(draw, most - 1)
        else:
            text = phrase(draw, most)
        if name in FREE or name in ("folder", "home"):
            text = text[:20] + draw.choice([each for each in HIDDEN if not each.isspace()]) + text[20:]
        if name in ("folder", "home"):
            text = "".join(c for c in text if c not in INSIDE_A_FOLDER).lstrip(".") + draw.choice("xyz")
        if name in TYPED:  # as long for whoever counts letters as for whoever counts cells
            text = "x" + "".join(each for each in draw.choices(PIECES, k=40) if cells(each) == list(each))[:64]
        if name == "begun":
            text = "".join(c for c in text if c not in NOT_IN_A_FOLDER)[:30].rstrip(". ") + "x"
        if (name in NAMES and name_fault(text)) or (name in TYPABLE and point_name_fault(text)):
            continue
        if text == one_form(text) == text.strip() and len(cells(text)) <= max(most, 70 * (name in TYPED)):
            yield text


def phrase(draw: random.Random, most: int) -> str:
    """Some of the pieces in at most so many characters; it does not begin with an accent."""
    text = draw.choice(("", " ", "")).join(draw.choices(PIECES, k=draw.randint(1, 4 if most < 60 else 20)))
    return one_form(text)[:most].strip() or "["


# -- the job


def job_text(named: Named) -> str:
    """The job file with those names; the zero is DOOR, and the rod on it is the first."""
    layers = [{named("paver"): "2 in"}, {named("bed"): "1 in"}, {named("base"): "4 in"}]
    points: dict[str, object] = {
        named(point): {"elevation": f"-{place + 1}", "what": named(f"is {point}"),
                       "at": [f"{6 * place} ft", f"{4 * (place % 2)} ft"]}
        for place, point in enumerate(POINTS[:4])
    }  # fmt: skip
    points[named("p5")] = {"from": named("p1"), "fall": "2%", "over": "4 ft", "what": named("is p5")}
    points[named("p6")] = {"from": named("pin"), "down": "1", "riser": "6 in", "what": named("is p6")}
    stages = ("subgrade", named("base"), named("bed"), "finish")
    plan = {
        "job": named("title"),
        "units": "in",
        "rods": {
            named("rod"): {"kind": "standard", "graduation": "1/16 in"},
            named("other rod"): {"kind": "direct", "graduation": "1/16 in"},
        },
        "benchmarks": {
            "DOOR": {"elevation": "0", "what": named("door")},
            named("pin"): {"elevation": "-4 3/8", "what": named("is pin")},
        },
        "build-ups": {named("build-up"): layers},
        "tolerances": dict.fromkeys(stages, "1/4 in"),
        "datums": {named("datum"): {"mark": named("nail"), "reads": "100"}},
        "walls": {named("wall"): [["0 ft", "9 ft"], ["18 ft", "9 ft"]]},
        "layout": {named("square"): {"sides": ["12 ft", "20 ft"]}},
        "bonds": {named("bond"): {"from": named("from"), "unit": "12 in", "joint": "1/8 in", "rows": "4"}},
        "areas": {
            named("area"): {
                "what": named("is area"),
                "build-up": named("build-up"),
                "drains": {"away from": named("wall")},
                "points": points,
            },
            named("pool"): {
                "datum": named("datum"),
                "points": {named("q1"): {"elevation": "99", "what": named("is q1")}},
            },
        },
    }  # fmt: skip
    return yaml.safe_dump(plan, sort_keys=False, allow_unicode=True, width=10_000)


def keep(job: Path, named: Named, clock: Clock) -> None:
    """Records the rest: all that is said beside the plan, and by whom."""
    session = Session(job, clock=clock)
    try:
        session.identify(named("by"))
        session.record(actions.cautions(["once a day, each person"]))
        area, finish = named("area"), "finish"
        session.record(actions.change_tolerance(session.state, area, finish, "1/2", named("why")))
        session.record(actions.mark(session.state, named("made"), "48", named("is made")))
        session.record(
            actions.give_mark(session.state, named("pin"), "-4 1/2", has_moved=True, why=named("why made"))
        )
        session.record(actions.add_point(session.state, area, named("added"), "-3", named("is added")))
        session.record(actions.change_target(session.state, named("p3"), "-3 1/4", named("why")))
        session.record(actions.reading(session.state, Surface(area, named("p1"), finish), "51"))
        session.record(actions.reading(session.state, Surface(area, named("p2"), finish), "51"))
        session.record(actions.tape(session.state, named("square"), "A", "B", "144"))
        session.record(actions.gauge(session.state, "lippage", area, named("gauged"), "1/8"))
        session.record(actions.describe_day(named("weather"), named("crew")))
        unread = [named(each) for each in ("p2", "p3", "p4", "p5", "p6", "added")]
        session.record(
            actions.sign_off(
                session.state, area, finish, unread, named("remark"), asked=questions(session.state, area, finish)
            )
        )
        gone = session.record(actions.note(named("about"), area))
        session.record(session.strike(gone.id, named("struck")))
        session.record(actions.note(named("note")))
    finally:
        session.close()
