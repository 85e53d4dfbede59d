"""A new job's file from a few answers: the templates of this package filled in, with example areas that pass."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Literal, get_args

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, feet, inches, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.limits import ANYWHERE, CODES, RULES
from gradecheck.plan.names import LONGEST_TEXT, folded, hidden_in, name_fault, one_form, point_name_fault

AreaKind = Literal["patio", "walk", "driveway", "steps", "ramp", "pool deck"]
KINDS: tuple[AreaKind, ...] = get_args(AreaKind)
"""The kinds of areas a new job may have; each has a template of that name."""
STRIP = 30
"""Paces along the house that each area has to itself in the plan's own places."""
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
                raise NotPossibleError(
                    _(
                        "The {lower} is held tighter than the {upper} above it; allow it as much.",
                        lower=lower,
                        upper=upper,
                    )
                )
        if self.finish <= ZERO:
            raise NotPossibleError(_("A tolerance must be more than zero."))

    @classmethod
    def usual(cls, units: Units) -> Tolerances:
        """What is usual: base as published, half or so of it above, somewhat more below (common practice)."""
        if not units.imperial:
            return cls(*map(millimetres, (5, 6, 10, 15)))
        if units is Units.FT:
            return cls(*(feet(Fraction(hundredths, 100)) for hundredths in (3, 3, 4, 5)))
        return cls(*map(inches, (Fraction(3, 16), Fraction(1, 4), Fraction(3, 8), Fraction(1, 2))))


@dataclass(frozen=True, slots=True)
class JobAnswers:
    """What is known of a job when its file is begun. Raises `NotPossibleError` for what no job file can hold.

    `areas` are names with their kinds, in the order they are worked; `build_ups` names a choice of `BUILD_UPS` for
    a kind, the usual one where it names none; `codes` are its rule sets. What is None is as usual for the units.
    """

    title: str = _("New job")
    units: Units = Units.IN
    zero: str = "DOOR"
    zero_is: str = _("threshold of the door")
    areas: tuple[tuple[str, AreaKind], ...] = (("patio", "patio"),)
    build_ups: Mapping[AreaKind, str] = field(default_factory=dict)
    tolerances: Tolerances | None = None
    graduation: Length | None = None
    codes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        # Letters and their accents in one piece, as the job file is read: what looks alike is alike.
        object.__setattr__(self, "title", one_form(self.title))
        object.__setattr__(self, "zero", one_form(self.zero))
        object.__setattr__(self, "zero_is", one_form(self.zero_is))
        object.__setattr__(self, "areas", tuple((one_form(name), kind) for name, kind in self.areas))
        untitled = None if self.title.strip() else _("A job needs a title; give one.")
        texts = untitled or text_fault(self.title, "title") or text_fault(self.zero_is, "text")
        if fault := texts or zero_fault(self.zero) or areas_fault(self.areas):
            raise NotPossibleError(fault)
        for kind, choice in self.build_ups.items():
            if choice not in BUILD_UPS[kind]:
                raise NotPossibleError(
                    _(
                        "“{choice}” is not a build-up here; known are {build_ups}.",
                        choice=choice,
                        build_ups=", ".join(BUILD_UPS[kind]),
                    )
                )
        if unknown := next((code for code in self.codes if code not in CODES), None):
            raise NotPossibleError(
                _("“{unknown}” is not a code here; known are {codes}.", unknown=unknown[:40], codes=", ".join(CODES))
            )
        if self.graduation is not None and not ZERO < self.graduation <= COARSEST:
            raise NotPossibleError(_("A rod's marks are more than zero and at most 2 in (50 mm) apart."))
        allowed = self.allowed
        for length in (self.marks, allowed.finish, allowed.bedding, allowed.base, allowed.subgrade):
            length_in_file(length, self.units)

    @property
    def allowed(self) -> Tolerances:
        """The tolerances, the usual ones where none are given."""
        return self.tolerances or Tolerances.usual(self.units)

    @property
    def marks(self) -> Length:
        """How far apart the rod's smallest marks are."""
        return self.graduation or self.units.graduation

    def build_up(self, kind: AreaKind) -> str:
        """Which build-up an area of that kind gets."""
        return self.build_ups.get(kind) or usual_build_up(kind)

    @property
    def kinds(self) -> tuple[AreaKind, ...]:
        """The kinds of areas there are, each once."""
        return tuple(dict.fromkeys(kind for _, kind in self.areas))


def text_fault(text: str, what: str) -> str | None:
    """Why this can't be a text in a job file, or None."""
    if hidden_in(text) is not None:
        return _("This {what} has a character in it that can't be seen; write it without.", what=what)
    if len(text) > LONGEST_TEXT:
        return _("This {what} is longer than {most} characters; shorten it.", what=what, most=LONGEST_TEXT)
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
            return _(
                "“{kind}” is not a kind of area; write {kinds} or {last}.",
                kind=kind,
                kinds=", ".join(KINDS[:-1]),
                last=KINDS[-1],
            )
        if folded(name) in seen:
            return _("Two areas are called “{name}”; give each a name of its own.", name=name)
        seen.add(folded(name))
    if not seen:
        return _("A job needs an area; name one.")
    return (
        _("These are more than {most} areas; begin with fewer.", most=MOST_AREAS) if len(seen) > MOST_AREAS else None
    )


def length_in_file(length: Length, units: Units) -> str:
    """The length as a job file writes it, exactly. Raises `NotPossibleError` where no unit can in four decimals."""
    order = (Units.IN, Units.MM, Units.M) if units.imperial else (Units.MM, Units.IN, Units.M)
    for each in (Units.FT, *order) if units is Units.FT else order:
        text = show_exact(length, each, unit=True)
        if read_length(text, each) == length:
            return text
    raise NotPossibleError(_("A length is finer here than it can be written; take one with four decimals or fewer."))


# -- lengths in the job's own units


@dataclass(frozen=True, slots=True)
class Ruler:
    """Writes the lengths of a template in the job's kind of unit: a pace is a foot, or 300 mm in metric work."""

    units: Units
    across: int = 0
    """Paces along the house where an area begins."""

    def written(self, mark: str) -> str:
        """A length as a template marks it: ``12`` paces, ``x 12`` along the house, ``2 in, 50 mm`` by either size."""
        if " in, " in mark:
            inch, _, mm = mark.removesuffix(" mm").partition(" in, ")
            return self.thick(inch, int(mm))
        return self.far(int(mark.removeprefix("x ")) + (self.across if mark.startswith("x ") else 0))

    def far(self, paces: int) -> str:
        """A run along the ground."""
        match self.units:
            case Units.MM:
                return f"{paces * 300} mm"
            case Units.CM:
                return f"{paces * 30} cm"
            case Units.M:
                whole, tenth = divmod(paces * 3, 10)
                return f"{whole}.{tenth} m" if tenth else f"{whole} m"
            case _:
                return f"{paces} ft"

    def thick(self, inch: str, mm: int) -> str:
        """A layer, a riser or a tread; in feet rounded up to a hundredth, a thousandth where it is less."""
        if self.units is not Units.FT:
            return f"{inch} in" if self.units.imperial else f"{mm} mm"
        size = sum(map(Fraction, inch.split()), Fraction(0)) / 12
        places = 2 if size > Fraction(1, 100) else 3
        return f"{ceil(size * 10**places) / 10**places:.{places}f} ft"


def quoted(text: str) -> str:
    """The text as YAML reads it back, whatever stands in it; it has one line and nothing that can't be seen."""
    if re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*+(?: [A-Za-z0-9_]++)*+", text):
        return text
    return "'" + text.replace("'", "''") + "'"


# -- what an area is built up of

FINISH_ALONE = "finish"
"""Nothing below the finish is checked."""


@dataclass(frozen=True, slots=True)
class Starting:
    """A build-up to begin with: layers from the finish down, each with inches as written and millimetres.

    `rule` is the limit that its base keeps; `why` says where the thicknesses come from where no rule does.
    """

    what: str
    layers: tuple[tuple[str, str, int], ...] = ()
    rule: str = ""
    why: str = ""
    past_edge: tuple[str, int] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The layers' names, without the topmost, whose top is the finish."""
        return tuple(name for name, _, _ in self.layers[1:])

    def in_words(self, units: Units) -> str:
        """``paver 2 3/8 in, bedding 1 in, base 4 in``, or what it is where it has no layers."""
        ruler = Ruler(units)
        return ", ".join(f"{name} {ruler.thick(inch, mm)}" for name, inch, mm in self.layers) or self.what

    def remarks(self, ruler: Ruler) -> list[str]:
        """Where its thicknesses come from, for the file to say."""
        if not self.rule:
            return [self.why]
        least = ruler.thick(*_LEAST[self.rule])
        edge = [_("Base and dig go past the edge as far as the same source says.")] if self.past_edge else []
        source = f"{self.rule.capitalize()} {least}: {RULES[self.rule].by[ANYWHERE].source}."
        return [source, *edge, _("Cold, wet or weak soils need a thicker base.")]

    def lines(self, kind: AreaKind, ruler: Ruler) -> list[str]:
        """The build-up as the file has it."""
        layers = ", ".join(f"{{{name}: {ruler.thick(inch, mm)}}}" for name, inch, mm in self.layers)
        past_edge = [(f"  past edge: {ruler.thick(*self.past_edge)}  # <--")] if self.past_edge else []
        return [f"{kind}:", (f"  layers: [{layers}]  # <--"), *past_edge]


_WALK, _DRIVE, _STREET = (
    "base at least on a walk",
    "base at least on a driveway",
    "base at least on a street",
)
# The same numbers as in the limits, written as people write them: P-04, P-05 and P-06 of the institute's guide.
_LEAST = {_WALK: ("4", 100), _DRIVE: ("6", 150), _STREET: ("8", 200)}
_PAVER, _THICK_PAVER = ("paver", "2 3/8", 60), ("paver", "3 1/8", 80)
_BEDDING = ("bedding", "1", 25)
_NOTHING = Starting(_("nothing below the finish is checked"))

_WALKED_ON = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "4", 100)), _WALK, past_edge=("6", 150)),
    "deep": Starting(_("on weak soil"), (_PAVER, _BEDDING, ("base", "6", 150)), _WALK, past_edge=("6", 150)),
    FINISH_ALONE: _NOTHING,
}
_UP_TO_THE_EDGE = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "4", 100)), _WALK),
    "deep": Starting(_("on weak soil"), (_PAVER, _BEDDING, ("base", "6", 150)), _WALK),
    FINISH_ALONE: _NOTHING,
}
_DRIVEN_ON = {
    "pavers": Starting("pavers", (_PAVER, _BEDDING, ("base", "6", 150)), _DRIVE, past_edge=("6", 150)),
    "heavy": Starting(_("heavy cars"), (_THICK_PAVER, _BEDDING, ("base", "8", 200)), _STREET, past_edge=("8", 200)),
    FINISH_ALONE: _NOTHING,
}
_STEPS = {
    "treads": Starting(
        _("treads on concrete"),
        (("tread", "2 1/4", 60), ("mortar", "3/4", 20), ("concrete", "5", 125), ("base", "4", 100)),
        why=_("Common practice, no source; the drawings say what these steps stand on."),
    ),
    FINISH_ALONE: _NOTHING,
}
BUILD_UPS: Mapping[AreaKind, Mapping[str, Starting]] = {
    "patio": _WALKED_ON,
    "walk": _WALKED_ON,
    "driveway": _DRIVEN_ON,
    "steps": _STEPS,
    "ramp": _UP_TO_THE_EDGE,
    "pool deck": _WALKED_ON,
}
"""By kind of area, the choices by their words; the first is the usual one."""


def usual_build_up(kind: AreaKind) -> str:
    """What an area of that kind is built of where nobody says."""
    return next(iter(BUILD_UPS[kind]))


# -- the file

OWN_LETTER: dict[AreaKind, str] = {
    "patio": "P", "walk": "W", "driveway": "D", "steps": "S", "ramp": "R", "pool deck": "K",
}  # fmt: skip
"""What the points of an area of that kind begin with."""
LETTERS = "ABCEGHJKLMNQTUVXYZDPRSW"
"""What an area's points may begin with where its own letter is taken; I and O look like figures, F1 is a key."""

_SAYS = {
    Units.IN: "inches", Units.FT_IN: "inches", Units.FT: "feet",
    Units.MM: "millimeters", Units.CM: "centimeters", Units.M: "meters",
}  # fmt: skip
_MARK = re.compile("<([A-Za-z0-9][^<>]*)>")
"""A mark in a template: a value's name, or a length that `Ruler.written` understands."""


def starter_text(answers: JobAnswers) -> str:
    """The text of the job file; it loads, and examining it finds nothing but reminders."""
    ruler, words = Ruler(answers.units), answers.units.examples
    built = {kind: BUILD_UPS[kind][answers.build_up(kind)] for kind in answers.kinds}
    built = {kind: build_up for kind, build_up in built.items() if build_up.layers}
    values: dict[str, Sequence[str]] = {
        "lengths": [words.lengths],
        "slopes": [words.slopes],
        "apart": [words.apart],
        "bare number": [_SAYS[answers.units]],
        "title": [quoted(answers.title)],
        "units": [answers.units],
        "known code": [f"{code}: {what}" for code, what in CODES.items()],
        "codes": [
            ("codes: [{codes}]").format(codes=", ".join(answers.codes))
            if answers.codes
            else "# codes: [us-residential]"
        ],
        "graduation": [length_in_file(answers.marks, answers.units)],
        "zero": [quoted(answers.zero)],
        "what": [(f", what: {quoted(answers.zero_is)}") if answers.zero_is.strip() else ""],
        "end of house": [ruler.far(STRIP * len(answers.areas))],
        "why so thick": list(dict.fromkeys(why for each in built.values() for why in each.remarks(ruler))),
        "layers": [line for kind, each in built.items() for line in each.lines(kind, ruler)],
        "tolerance": _tolerances(answers),
    }
    parts = _template("job").split("\n\n")
    kept = [part for part in parts if built or "<layers>" not in part]
    areas = [_area(answers, number, letter) for number, letter in enumerate(_letters(answers))]
    return "\n".join(("\n\n".join(_filled(part, values, ruler) for part in kept), "\n\n".join(areas))) + "\n"


def _area(answers: JobAnswers, number: int, letter: str) -> str:
    """An example of an area of that kind; its points are called by the letter and counted from the zero."""
    name, kind = answers.areas[number]
    values: dict[str, Sequence[str]] = {
        "name": [quoted(name)],
        "build-up": [kind] if answers.build_up(kind) != FINISH_ALONE else [],
        "accessible": ["yes"] if "us-accessible" in answers.codes else [],
        "P": [letter],
        "zero": [quoted(answers.zero)],
        "tread fall": ["1/8 in/ft" if answers.units in (Units.IN, Units.FT_IN) else "1%"],
    }
    return _filled(_template(kind), values, Ruler(answers.units, number * STRIP))


def _template(name: str) -> str:
    from importlib.resources import files  # only a new job needs it

    return (files("gradecheck") / "plan" / "templates" / f"{name}.yaml").read_text(encoding="utf-8").rstrip("\n")


def _filled(template: str, values: Mapping[str, Sequence[str]], ruler: Ruler) -> str:
    """The template with its marks filled in; a line is there as often as its value has parts, and not without."""
    return "\n".join(line for each in template.split("\n") for line in _lines(each, values, ruler))


def _lines(line: str, values: Mapping[str, Sequence[str]], ruler: Ruler) -> Iterator[str]:
    # In one pass: what was answered may itself look like a mark.
    first, *rest = _MARK.split(line)
    given = [values[mark] if mark in values else [ruler.written(mark)] for mark in rest[::2]]
    for row in range(max(map(len, given), default=1)) if all(given) else ():
        said = (each[row % len(each)] for each in given)
        yield first + "".join(value + text for value, text in zip(said, rest[1::2], strict=True))


def _tolerances(answers: JobAnswers) -> list[str]:
    """The tolerance of each surface that the areas have, from the dig up."""
    layers = {name for kind in answers.kinds for name in BUILD_UPS[kind][answers.build_up(kind)].names}
    allowed = answers.allowed
    stages = {
        "base": allowed.base,
        "concrete": allowed.bedding,
        "mortar": allowed.bedding,
        "bedding": allowed.bedding,
    }
    kept = {"subgrade": allowed.subgrade} if layers else {}
    kept |= {stage: length for stage, length in stages.items() if stage in layers}
    kept["finish"] = allowed.finish
    return [f"{stage}: {length_in_file(length, answers.units)}" for stage, length in kept.items()]


def _letters(answers: JobAnswers) -> list[str]:
    """A letter of its own for each area's points, so that no two are called alike, nor one like the zero."""
    taken: set[str] = set()
    zero = answers.zero.casefold()
    if re.search("[0-9]", zero):
        taken.add(zero[0].upper())
    found = []
    for _name, kind in answers.areas:
        letter = next(letter for letter in (OWN_LETTER[kind], *LETTERS) if letter not in taken)
        taken.add(letter)
        found.append(letter)
    return found
