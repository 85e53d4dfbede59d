"""What is known of a job when its file is begun, held to what a job file can hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, feet, inches, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.limits import CODES
from gradecheck.plan.names import LONGEST_TEXT, folded, hidden_in, name_fault, one_form, point_name_fault
from gradecheck.plan.starter_areas import KINDS, Kind
from gradecheck.plan.starter_layers import BUILD_UPS, usual_build_up

MOST_AREAS = 20
"""A plan that begins larger is better begun with fewer and grown by hand."""
COARSEST = inches(2)
"""No rod has wider marks."""


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
        if not units.imperial:
            return cls(*map(millimetres, (5, 6, 10, 15)))
        if units is Units.FT:
            return cls(*(feet(Fraction(hundredths, 100)) for hundredths in (3, 3, 4, 5)))
        return cls(*map(inches, (Fraction(3, 16), Fraction(1, 4), Fraction(3, 8), Fraction(1, 2))))


@dataclass(frozen=True, slots=True)
class Answers:
    """What is known of a job when its file is begun. Raises `NotPossibleError` for what no job file can hold.

    `areas` are names with their kinds, in the order they are worked; `build_ups` names a choice of `BUILD_UPS` for
    a kind, the usual one where it names none; `codes` are its rule sets. What is None is as usual for the units.
    """

    title: str = "New job"
    units: Units = Units.IN
    zero: str = "DOOR"
    zero_is: str = "threshold of the door"
    areas: tuple[tuple[str, Kind], ...] = (("patio", "patio"),)
    build_ups: Mapping[Kind, str] = field(default_factory=dict)
    tolerances: Tolerances | None = None
    graduation: Length | None = None
    codes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        # Letters and their accents in one piece, as the job file is read: what looks alike is alike.
        object.__setattr__(self, "title", one_form(self.title))
        object.__setattr__(self, "zero", one_form(self.zero))
        object.__setattr__(self, "zero_is", one_form(self.zero_is))
        object.__setattr__(self, "areas", tuple((one_form(name), kind) for name, kind in self.areas))
        untitled = None if self.title.strip() else "A job needs a title; give one."
        texts = untitled or text_fault(self.title, "title") or text_fault(self.zero_is, "text")
        if fault := texts or zero_fault(self.zero) or areas_fault(self.areas):
            raise NotPossibleError(fault)
        for kind, choice in self.build_ups.items():
            if choice not in BUILD_UPS[kind]:
                raise NotPossibleError(f"“{choice}” is no build-up here; known are {', '.join(BUILD_UPS[kind])}.")
        if unknown := next((code for code in self.codes if code not in CODES), None):
            raise NotPossibleError(f"“{unknown[:40]}” is no code here; known are {', '.join(CODES)}.")
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
        if folded(name) in seen:
            return f"Two areas are called “{name}”; give each a name of its own."
        seen.add(folded(name))
    if not seen:
        return "A job needs an area; name one."
    return f"These are more than {MOST_AREAS} areas; begin with fewer." if len(seen) > MOST_AREAS else None


def written(length: Length, units: Units) -> str:
    """The length as a job file writes it, exactly. Raises `NotPossibleError` where no unit can in four decimals."""
    order = (Units.IN, Units.MM, Units.M) if units.imperial else (Units.MM, Units.IN, Units.M)
    for each in (Units.FT, *order) if units is Units.FT else order:
        text = show_exact(length, each, unit=True)
        if read_length(text, each) == length:
            return text
    raise NotPossibleError("A length is finer here than it can be written; take one with four decimals or fewer.")
