"""A new job file from a few answers: every section explained, with example areas that pass examination."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, feet, inches, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.names import LONGEST_TEXT, hidden_in, name_fault, one_form, point_name_fault
from gradecheck.plan.starter_areas import KINDS, STRIP, Kind, Ruler, area_lines, quoted
from gradecheck.plan.starter_layers import BUILD_UPS, FINISH_ALONE, usual_build_up

MOST_AREAS = 20
"""A plan that begins larger is better begun with fewer and grown by hand."""
COARSEST = inches(2)
"""No rod has wider marks."""
LETTERS = "ABCEFGHJKLMNQTUVXYZDPRSW"
"""What an area's points may begin with where its own letter is taken; I and O look like figures."""


class NotPossibleError(ValueError):
    """An answer that no job file can be made of; the message is one sentence for the person who gave it."""


@dataclass(frozen=True, slots=True)
class Tolerances:
    """How far each surface may be off, high and low alike; a lower one never less than the one above it."""

    finish: Length
    bedding: Length
    base: Length
    subgrade: Length

    def __post_init__(self) -> None:
        for upper, lower in pairwise(("finish", "bedding", "base", "subgrade")):
            if getattr(self, lower) < getattr(self, upper):
                raise NotPossibleError(f"The {lower} is held tighter than the {upper} above it; allow it as much.")
        if self.finish <= ZERO:
            raise NotPossibleError("A tolerance must be more than nothing.")

    @classmethod
    def usual(cls, units: Units) -> Tolerances:
        """What is usual: base as published, half or so of it above, somewhat more below (common practice)."""
        if not is_imperial(units):
            return cls(*map(millimetres, (5, 6, 10, 15)))
        if units is Units.FT:
            return cls(*(feet(Fraction(hundredths, 100)) for hundredths in (3, 3, 4, 5)))
        return cls(*map(inches, (Fraction(3, 16), Fraction(1, 4), Fraction(3, 8), Fraction(1, 2))))


@dataclass(frozen=True, slots=True)
class Answers:
    """What is known of a job when its file is begun. Raises `NotPossibleError` for what no job file can hold.

    `areas` are names with their kinds, in the order they are worked; `build_ups` names a choice of `BUILD_UPS` for
    a kind, the usual one where it names none. What is None is as usual for the units.
    """

    title: str = "New job"
    units: Units = Units.IN
    zero: str = "DOOR"
    zero_is: str = "threshold of the door"
    areas: tuple[tuple[str, Kind], ...] = (("patio", "patio"),)
    build_ups: Mapping[Kind, str] = field(default_factory=dict)
    tolerances: Tolerances | None = None
    graduation: Length | None = None

    def __post_init__(self) -> None:
        # Letters and their accents in one piece, as the job file is read: what looks alike is alike.
        object.__setattr__(self, "title", one_form(self.title))
        object.__setattr__(self, "zero", one_form(self.zero))
        object.__setattr__(self, "zero_is", one_form(self.zero_is))
        object.__setattr__(self, "areas", tuple((one_form(name), kind) for name, kind in self.areas))
        for fault in (text_fault(self.title, "title") if self.title.strip() else "A job needs a title; give one.",
                      text_fault(self.zero_is, "text"), zero_fault(self.zero), areas_fault(self.areas)):  # fmt: skip
            if fault:
                raise NotPossibleError(fault)
        for kind, choice in self.build_ups.items():
            if choice not in BUILD_UPS[kind]:
                raise NotPossibleError(f"“{choice}” is no build-up here; known are {', '.join(BUILD_UPS[kind])}.")
        if self.graduation is not None and not ZERO < self.graduation <= COARSEST:
            raise NotPossibleError("A rod's marks are more than nothing and at most 2 in (50 mm) apart.")
        allowed = self.allowed
        for length in (self.marks, allowed.finish, allowed.bedding, allowed.base, allowed.subgrade):
            written(length, self.units)

    @property
    def allowed(self) -> Tolerances:
        """The tolerances, the usual ones where none are given."""
        return self.tolerances or Tolerances.usual(self.units)

    @property
    def marks(self) -> Length:
        """How far apart the rod's smallest marks are."""
        return self.graduation or self.units.graduation

    def build_up(self, kind: Kind) -> str:
        """Which build-up an area of that kind gets."""
        return self.build_ups.get(kind) or usual_build_up(kind)

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds of areas there are, each once."""
        return tuple(dict.fromkeys(kind for _, kind in self.areas))


def text_fault(text: str, what: str) -> str | None:
    """Why this can't stand as a text in a job file, or None."""
    if hidden_in(text) is not None:
        return f"This {what} has a character in it that can't be seen; write it without."
    if len(text) > LONGEST_TEXT:
        return f"This {what} is longer than {LONGEST_TEXT} characters; shorten it."
    return None


def zero_fault(name: str) -> str | None:
    """Why the zero's mark can't have that name, or None."""
    return text_fault(name, "name") or point_name_fault(name)


def areas_fault(areas: Iterable[tuple[str, str]]) -> str | None:
    """What is wrong with the areas or their names, or None."""
    seen: set[str] = set()
    for name, kind in areas:
        if fault := text_fault(name, "name") or name_fault(name):
            return fault
        if kind not in KINDS:
            return f"“{kind}” is no kind of area; write {', '.join(KINDS[:-1])} or {KINDS[-1]}."
        if one_form(name).casefold() in seen:
            return f"Two areas are called “{name}”; give each a name of its own."
        seen.add(one_form(name).casefold())
    if not seen:
        return "A job needs an area; name one."
    return f"These are more than {MOST_AREAS} areas; begin with fewer." if len(seen) > MOST_AREAS else None


def is_imperial(units: Units) -> bool:
    """Whether the job counts in inches or feet."""
    return units in (Units.IN, Units.FT_IN, Units.FT)


def written(length: Length, units: Units) -> str:
    """The length as a job file writes it, exactly. Raises `NotPossibleError` where no unit can in four decimals."""
    order = (Units.IN, Units.MM, Units.M) if is_imperial(units) else (Units.MM, Units.IN, Units.M)
    for each in (Units.FT, *order) if units is Units.FT else order:
        text = show_exact(length, each, unit=True)
        if read_length(text, each) == length:
            return text
    raise NotPossibleError("A length is finer here than it can be written; take one with four decimals or fewer.")


_SAYS = {
    Units.IN: "inches", Units.FT_IN: "inches", Units.FT: "feet",
    Units.MM: "millimetres", Units.CM: "centimetres", Units.M: "metres",
}  # fmt: skip


def starter_text(answers: Answers) -> str:
    """The job file, ready to be loaded and to be made one's own; it passes examination without a finding to act on."""
    lines = [*_head(answers), *_known(answers), *_layers(answers), *_allowed(answers), "", "areas:"]
    letters = _letters(answers)
    for number, (name, kind) in enumerate(answers.areas):
        ruler = Ruler(answers.units, number * STRIP)
        built = kind if answers.build_up(kind) != FINISH_ALONE else None
        lines += area_lines(kind, name, letters[number], ruler, answers.zero, built)
    return "\n".join(lines).rstrip() + "\n"


def _head(answers: Answers) -> list[str]:
    return [
        "# The grade plan of one job. Lines that end in <-- hold examples: put your own figures there.",
        "# Everything after a # is a remark. Every mistake is told with its line by: gradecheck examine",
        f"# Lengths: 12 ft, 3 1/2 in, 4' 3-1/2\", 351 mm; a bare number is {_SAYS[answers.units]} here.",
        "# Slopes: 2 %, 1/4 in/ft, 1:48, 20 mm/m.",
        "# Local code, the drawings and licensed practice decide; gradecheck only compares figures with this plan.",
        "# Have buried services located before any dig.",
        "",
        f"job: {quoted(answers.title)}",
        f"units: {answers.units}",
    ]


def _known(answers: Answers) -> list[str]:
    ruler, units = Ruler(answers.units), answers.units
    what = f", what: {quoted(answers.zero_is)}" if answers.zero_is.strip() else ""
    wall = f"[{ruler.place(0, 0)}, {ruler.place(STRIP * len(answers.areas), 0)}]"
    return [
        "",
        "# The rod. standard: figures grow upward from its foot; direct: they run with the ground.",
        "rods:",
        f"  site rod: {{kind: standard, graduation: {written(answers.marks, units)}}}",
        "",
        "# What the laser is good for, as its maker states it, says how sure an answer is: take the # away.",
        f"# instrument: {{beam: 10 arcsec, receiver: {ruler.thick('1/32', 1)}, longest shot: {ruler.far(60)}}}",
        "",
        "# Marks known before work begins. The first is the zero: every elevation counts from it, down is minus.",
        "benchmarks:",
        f"  {quoted(answers.zero)}: {{elevation: 0{what}, at: {ruler.place(8, 0)}}}  # <--",
        "",
        "# Walls of buildings; water must run away from them. Take both lines out where there is none.",
        "walls:",
        f"  house: {wall}  # <--",
    ]


def _layers(answers: Answers) -> list[str]:
    chosen = {kind: BUILD_UPS[kind][answers.build_up(kind)] for kind in answers.kinds}
    built = {kind: build_up for kind, build_up in chosen.items() if build_up.layers}
    if not built:
        return []
    remarks = dict.fromkeys(line for build_up in built.values() for line in build_up.remarks(answers.units))
    lines = [line for kind, build_up in built.items() for line in (f"  {kind}:", *build_up.lines(answers.units))]
    what = "# What lies under each kind of area, from the finish down; the sum is the dig."
    return ["", what, *(f"# {line}" for line in remarks), "build-ups:", *lines]


def _allowed(answers: Answers) -> list[str]:
    layers = {name for kind in answers.kinds for name in BUILD_UPS[kind][answers.build_up(kind)].names}
    allowed = answers.allowed
    stages = {
        "subgrade": allowed.subgrade,
        "base": allowed.base,
        "concrete": allowed.bedding,
        "mortar": allowed.bedding,
        "bedding": allowed.bedding,
        "finish": allowed.finish,
    }
    kept = {stage: length for stage, length in stages.items() if stage in layers or stage == "finish"}
    if layers:
        kept = {"subgrade": allowed.subgrade, **kept}
    return [
        "",
        "# How far each surface may be off, high or low; apart: {high: 1/4 in, low: 1/2 in}.",
        "tolerances:",
        *(f"  {stage}: {written(length, answers.units)}" for stage, length in kept.items()),
    ]


def _letters(answers: Answers) -> list[str]:
    """A letter of its own for each area's points, so that no two are called alike, nor one like the zero."""
    taken: set[str] = set()
    zero = answers.zero.casefold()
    if re.search("[0-9]", zero):
        taken.add(zero[0].upper())
    found = []
    for _, kind in answers.areas:
        letter = next(letter for letter in (KINDS_LETTER[kind], *LETTERS) if letter not in taken)
        taken.add(letter)
        found.append(letter)
    return found


KINDS_LETTER: dict[Kind, str] = {
    "patio": "P", "walk": "W", "driveway": "D", "steps": "S", "ramp": "R", "pool deck": "K",
}  # fmt: skip
