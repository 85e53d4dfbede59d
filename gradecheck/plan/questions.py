"""Questions, and how their answers are read and shown: each has its default and its own refusal."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, inches, millimetres
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.measure.units import UnitProblemError, read_slope
from gradecheck.plan.asked_build import HOUSE, Build, WalkLeg, fan
from gradecheck.plan.limits import CODES
from gradecheck.plan.names import folded, name_fault
from gradecheck.plan.starter import COARSEST, NotPossibleError, areas_fault, length_in_file, text_fault

CHECK_OFF = 0.006
"""Metres by which a second diagonal may differ from what the other tapes give: about 1/4 in, common practice."""
TAPED = "taped"
NO_LAYERS = "finish"
NO_CODE = "none"
"""Answered where the drawings name no code, or none that is known here."""
Refuses = Callable[[str], str | None]
"""Says in one sentence why something can't be taken, None where it can."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question with its default answer; `about` names the answer in a list of answers.

    `choices` are the words that can be answered, each with what it means. `read` gives the value of a text and
    raises `NotPossibleError`; `says` is how a value is shown.
    """

    about: str
    asks: str
    default: str
    read: Callable[[str], Any]
    choices: tuple[tuple[str, str], ...] = ()
    says: Callable[[Any], str] = str


def units_question() -> Question:
    """Which units the job has."""
    means = (_("inches and fractions"), _("feet, inches and fractions"), _("feet in decimals"),
             _("millimeters"), _("centimeters"), _("meters"))  # fmt: skip
    choices = tuple(zip(map(str, Units), means, strict=True))
    asked = _("Which unit are lengths entered and shown in?")
    return Question("units", asked, "in", lambda text: Units(one_of(text, choices)), choices)


def codes_question() -> Question:
    """Which codes the drawings name."""
    choices = ((NO_CODE, _("none is named yet: what only codes limit is told as NOT CHECKED")), *CODES.items())
    asked = _("Which codes do the drawings name? One or several, with commas.")
    return Question("codes", asked, NO_CODE, codes_named, choices, lambda codes: ", ".join(codes) or NO_CODE)


def codes_named(text: str) -> tuple[str, ...]:
    """The codes that are named, each once, by their words or beginnings of them. Raises `NotPossibleError`."""
    choices = ((NO_CODE, ""), *CODES.items())
    named = dict.fromkeys(one_of(part, choices) for part in text.split(",") if part.strip())
    if NO_CODE in named and len(named) > 1:
        raise NotPossibleError(_("Either {no_code}, or the codes themselves.", no_code=NO_CODE))
    return tuple(code for code in named if code != NO_CODE)


# -- reading them


def checked(fault_in: Refuses) -> Callable[[str], str]:
    """Takes the text where nothing is the matter with it."""

    def read(text: str) -> str:
        if fault := fault_in(text):
            raise NotPossibleError(fault)
        return text

    return read


def title_fault(text: str) -> str | None:
    """Why this can be no title, or None."""
    return text_fault(text, "title")


def one_of(text: str, choices: Sequence[tuple[str, str]]) -> str:
    """The choice that was typed: its word, or a beginning that no other choice has."""
    words, typed = [word for word, _ in choices], folded(text)
    fitting = [word for word in words if folded(word) == typed]
    fitting = fitting or [word for word in words if folded(word).startswith(typed)]
    if len(fitting) != 1:
        raise NotPossibleError(
            _(
                "“{text}” is not a choice here; write {choices} or {last}.",
                text=text[:40],
                choices=", ".join(words[:-1]),
                last=words[-1],
            )
        )
    return fitting[0]


def above_zero(text: str, units: Units) -> Length:
    """A length above nothing. Raises `NotPossibleError`."""
    try:
        length = read_length(text, units)
    except NotUnderstoodError as wrong:
        raise NotPossibleError(str(wrong)) from wrong
    if length <= ZERO:
        raise NotPossibleError(_("This must be more than zero."))
    length_in_file(length, units)
    return length


def rod_mark(units: Units) -> Callable[[str], Length]:
    """How far apart a rod's marks are."""

    def read(text: str) -> Length:
        length = above_zero(text, units)
        if length > COARSEST:
            raise NotPossibleError(_("A rod's marks are at most 2 in (50 mm) apart; type how fine they are."))
        return length

    return read


def writes(units: Units) -> Callable[[Length], str]:
    """Shows a length as the job file writes it."""
    return lambda length: length_in_file(length, units)


def free_name(name: str, refuses: Refuses) -> str:
    """The name, or the next one with a number behind it that can be had; the name itself where none can."""
    numbered = (f"{name}-{number}" for number in range(2, 100))
    return next((each for each in (name, *numbered) if refuses(each) is None), name)


def title_missing(text: str) -> str | None:
    """Why this can be no title, or None."""
    return title_fault(text) if text.strip() else _("A job needs a title; give one.")


def area_name_of(build: Build) -> Callable[[str], str]:
    """A name that no other area has; nothing where there is one already."""

    def fault_in(text: str) -> str | None:
        if not text and build.areas:
            return None
        taken = [(name, "patio") for name in build.areas]
        if fault := name_fault(text) or areas_fault([*taken, (text, "patio")]):
            return fault
        marks = [build.second.mark] if build.second is not None else []
        if folded(text) in map(folded, (HOUSE, *marks, *(edge.word for edge in build.edges))):
            return _("“{name}” is already what something begins at; take another name.", name=text)
        return None

    return checked(fault_in)


def choice_of(choices: Sequence[tuple[str, str]]) -> Callable[[str], str]:
    """One of the words that can be answered."""
    return lambda text: one_of(text, choices)


def or_nothing(read: Callable[[str], Any]) -> Callable[[str], Any]:
    """The same, or None where nothing is typed."""
    return lambda text: read(text) if text else None


def any_length(build: Build) -> Callable[[str], Length]:
    """A length of either sign."""

    def read(text: str) -> Length:
        try:
            length = read_length(text, build.units)
        except NotUnderstoodError as wrong:
            raise NotPossibleError(str(wrong)) from wrong
        length_in_file(length, build.units)
        return length

    return read


def up_to(build: Build, most: Length) -> Callable[[str], Length]:
    """A place along an edge of that length."""

    def read(text: str) -> Length:
        length = any_length(build)(text)
        if not ZERO <= length <= most:
            raise NotPossibleError(_("That edge is {most} long; begin on it.", most=build.length(most)))
        return length

    return read


def drop_below(build: Build) -> Callable[[str], Length]:
    """How far below something lies: nothing, or a length without a minus."""

    def read(text: str) -> Length:
        if not text:
            raise NotPossibleError(_("Type how far below it is; 0 where it is level."))
        length = any_length(build)(text)
        if length < ZERO:
            raise NotPossibleError(_("Type it without a minus; it lies below."))
        return length

    return read


def a_size(build: Build) -> Callable[[str], Length]:
    """A length above nothing, which has to be typed."""

    def read(text: str) -> Length:
        if not text:
            raise NotPossibleError(_("This has to be typed; nothing is offered that nobody measured."))
        return above_zero(text, build.units)

    return read


def at_least(build: Build, least: Length) -> Callable[[str], Length]:
    """A tolerance that is no tighter than that of the surface above."""

    def read(text: str) -> Length:
        length = above_zero(text, build.units)
        if length < least:
            raise NotPossibleError(
                _(
                    "Above it {written} is allowed; tighter below is work that the next layer hides.",
                    written=length_in_file(least, build.units),
                )
            )
        return length

    return read


def a_width(build: Build) -> Callable[[str], Length | str]:
    """A width, or the word that asks for sides and diagonals."""
    return lambda text: TAPED if text and TAPED.startswith(text.casefold()) else a_size(build)(text)


def lengths_of(build: Build, least: int) -> Callable[[str], list[Length]]:
    """Lengths with commas between, so many at least."""

    def read(text: str) -> list[Length]:
        parts = [part for part in text.split(",") if part.strip()]
        if len(parts) < least:
            raise NotPossibleError(_("Type at least {least}, with commas between.", least=least))
        return [above_zero(part, build.units) for part in parts]

    return read


def diagonals_of(build: Build, sides: Sequence[Length], wanted: int) -> Callable[[str], list[Length]]:
    """As many diagonals as are wanted, which make triangles with those sides."""

    def read(text: str) -> list[Length]:
        found = lengths_of(build, wanted)(text)
        if len(found) != wanted:
            raise NotPossibleError(_("Type {wanted}, with commas between.", wanted=wanted))
        fan(sides, found)
        return found

    return read


def other_diagonal(build: Build, other: float) -> Callable[[str], Length]:
    """The diagonal that checks the others, `other` metres by them."""

    def read(text: str) -> Length:
        length = above_zero(text, build.units)
        if abs(float(length.metres) - other) > CHECK_OFF:
            shown = show_exact(millimetres(round(other * 1000)), Units.MM, unit=True)
            if build.units.imperial:
                shown = length_in_file(inches(Fraction(round(other / 0.0254 * 16), 16)), Units.IN)
            raise NotPossibleError(_("The other tapes make it {shown}; one of them is off, tape again.", shown=shown))
        return length

    return read


def a_place(build: Build) -> Callable[[str], list[Length]]:
    """A place on the plan: along the house, and out from it; either may have a minus."""

    def read(text: str) -> list[Length]:
        parts = [part for part in text.split(",") if part.strip()]
        if len(parts) != 2:
            raise NotPossibleError(_("Type two lengths with a comma between: along the house, and out from it."))
        return [any_length(build)(part) for part in parts]

    return read


def a_place_across(build: Build, width: Length) -> Callable[[str], Length]:
    """How far from the left side something lies, within that width."""

    def read(text: str) -> Length:
        length = above_zero(text, build.units)
        if length >= width:
            raise NotPossibleError(_("It is {width} wide; type less.", width=build.length(width)))
        return length

    return read


def typed_length(build: Build) -> Callable[[str], Length]:
    """A length of either sign, which has to be typed."""

    def read(text: str) -> Length:
        if not text:
            raise NotPossibleError(_("This has to be typed; nothing is offered that nobody measured."))
        return any_length(build)(text)

    return read


_BEND = re.compile(r"(left|right)\s+(?:radius\s+|r\s+)?(.+?)\s+for\s+(.+)", re.IGNORECASE)
_DEGREES = re.compile(r"(\d{1,3}(?:\.\d{1,6})?)\s*(?:deg|degrees|°)", re.IGNORECASE)


def legs_of(build: Build, width: Length) -> Callable[[str], list[WalkLeg]]:
    """A length, or straight legs and bends with commas between: ``12 ft, left radius 15 ft for 60 deg, 8 ft``."""

    def leg(part: str) -> WalkLeg:
        found = _BEND.fullmatch(part)
        if found is None:
            if part.split()[:1] and part.split()[0].casefold() in ("left", "right"):
                raise NotPossibleError(
                    _("“{part}” is no bend; write it like left radius 15 ft for 60 deg.", part=part[:40])
                )
            return WalkLeg(above_zero(part, build.units))
        turns, radius = found[1].casefold(), above_zero(found[2], build.units)
        if radius.metres * 2 <= width.metres:
            raise NotPossibleError(
                _("Half its width is {half}; the middle of a bend needs a larger radius.",
                  half=build.length(Length(width.metres / 2)))
            )  # fmt: skip
        angle = _DEGREES.fullmatch(found[3])
        bend = (WalkLeg.by_angle(turns, radius, Fraction(angle[1])) if angle
                else WalkLeg.by_length(turns, radius, above_zero(found[3], build.units)))  # fmt: skip
        if not 1 <= bend.degrees <= 180:
            raise NotPossibleError(_("A bend turns by 1 to 180 degrees; this one by {turned:.1f}.",
                                     turned=float(bend.degrees)))  # fmt: skip
        return bend

    def read(text: str) -> list[WalkLeg]:
        parts = [part.strip() for part in text.split(",") if part.strip()]
        if not parts:
            raise NotPossibleError(_("This has to be typed; nothing is offered that nobody measured."))
        return [leg(part) for part in parts]

    return read


def place_within(build: Build, width: Fraction, length: Fraction) -> Callable[[str], list[Length]]:
    """Two lengths, along and across, that lie within a rectangle."""

    def read(text: str) -> list[Length]:
        found = lengths_of(build, 2)(text)
        if len(found) != 2 or found[0].metres >= width or found[1].metres >= length:
            raise NotPossibleError(_("Type two lengths that lie within it, with a comma between."))
        return found

    return read


def a_slope(text: str) -> str:
    """A slope of either sign, as it is typed."""
    try:
        read_slope(text)
    except UnitProblemError as wrong:
        raise NotPossibleError(str(wrong)) from wrong
    return text


def a_fall(text: str) -> str:
    """A slope without a minus, as it is typed."""
    if read_slope(a_slope(text)).ratio < 0:
        raise NotPossibleError(_("Type it without a minus."))
    return text


def a_count(text: str) -> int:
    """A whole number from 1 to 99."""
    if not re.fullmatch("[1-9][0-9]?", text):
        raise NotPossibleError(_("Type a whole number, as 3."))
    return int(text)


PAST_EDGE = "past edge"


def layers_of(build: Build, choices: Mapping[str, str]) -> Callable[[str], list[tuple[str, Length]] | str]:
    """Layers with their thicknesses, none for the finish alone, or the name of an area that has the same."""

    def read(text: str) -> list[tuple[str, Length]] | str:
        words = " ".join(text.split())
        if words.casefold().startswith("as "):
            name = next((each for each in build.layers if folded(each) == folded(words[3:])), None)
            if name is None:
                raise NotPossibleError(_("No area called so has layers: {name}.", name=words[3:][:40]))
            return name
        if words == choices.get(NO_LAYERS) or words.casefold() == NO_LAYERS:
            return []
        found = []
        for part in choices.get(words.casefold(), words).split(","):
            split = re.fullmatch(r"\s*([^\d]+?)\s+(\d.*)", part)
            if split is None:
                raise NotPossibleError(
                    _("“{part}” is not a layer; write its name and thickness, as base 6 in.", part=part.strip()[:40])
                )
            name = split[1].strip()
            if fault := name_fault(name) or (name.casefold() in ("finish", "subgrade") and _("That is a surface.")):
                raise NotPossibleError(str(fault))
            found.append((name, above_zero(split[2], build.units)))
        return found

    return read


# -- showing answers


def said_length(build: Build) -> Callable[[Length | None], str]:
    """A length, or that it was not taped."""
    return lambda length: build.length(length) if length is not None else _("not taped")


def said_width(build: Build) -> Callable[[Length | str], str]:
    """A width, or that it is taped."""
    return lambda width: width if isinstance(width, str) else build.length(width)


def said_lengths(build: Build) -> Callable[[Sequence[Length]], str]:
    """Lengths with commas between."""
    return lambda lengths: ", ".join(map(build.length, lengths))


def said_legs(build: Build) -> Callable[[Sequence[WalkLeg]], str]:
    """Legs with commas between."""

    def says(leg: WalkLeg) -> str:
        if leg.radius is None:
            return build.length(leg.long)
        radius, degrees = build.length(leg.radius), f"{float(leg.degrees):.4g}"
        return _("{turns} radius {radius} for {degrees} deg", turns=leg.turns, radius=radius, degrees=degrees)

    return lambda legs: ", ".join(map(says, legs))


def said_layers(build: Build) -> Callable[[list[tuple[str, Length]] | str], str]:
    """The layers, or what they are the same as."""

    def says(said: list[tuple[str, Length]] | str) -> str:
        if isinstance(said, str):
            return f"as {said}"
        return ", ".join(f"{name} {build.length(thick)}" for name, thick in said) or _("the finish alone")

    return says
