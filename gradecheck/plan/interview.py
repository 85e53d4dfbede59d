"""The questions that begin a new job, one at a time, each with its default and its own refusal."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.plan.folder_names import folder_fault, folder_for, title_for
from gradecheck.plan.limits import CODES
from gradecheck.plan.names import one_form
from gradecheck.plan.starter import (
    BUILD_UPS,
    COARSEST,
    FINISH_ALONE,
    KINDS,
    MOST_AREAS,
    Answers,
    AreaKind,
    NotPossibleError,
    Tolerances,
    areas_fault,
    text_fault,
    usual_build_up,
    written,
    zero_fault,
)

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


@dataclass(frozen=True, slots=True)
class NewJob:
    """The result of the questions: the folder's name and the answers its job file is made of."""

    folder: str
    answers: Answers


Asking = Generator[Question, Any, NewJob]


class Interview:
    """The question to be answered and the answers so far; going back forgets the last.

    `folder` is the name of the job's folder where it is known already. `refuses` says why a folder can't be had.
    """

    def __init__(self, folder: str | None = None, refuses: Refuses = folder_fault) -> None:
        self._folder = folder
        self._refuses = refuses
        self._given: list[tuple[Question, Any]] = []
        self.question: Question | None = None
        self.result: NewJob | None = None
        self._ask_anew()

    @property
    def so_far(self) -> list[tuple[str, str]]:
        """What each answer is about, and the answer."""
        return [(question.about, question.says(value)) for question, value in self._given]

    def answer(self, text: str) -> None:
        """Answers the question; nothing typed takes the default. Raises `NotPossibleError` with one sentence."""
        question = self.question
        assert question is not None
        value = question.read(one_form(text.strip()) or question.default)
        self._given.append((question, value))
        self._go_on(value)

    def back(self) -> bool:
        """Goes back one question; returns whether there was one before."""
        if not self._given:
            return False
        self._given.pop()
        self._ask_anew()
        return True

    def _ask_anew(self) -> None:
        self.result = None
        self._asking = _questions(self._folder, self._refuses)
        self.question = next(self._asking)
        for _question, value in self._given:
            self._go_on(value)

    def _go_on(self, value: Any) -> None:
        try:
            self.question = self._asking.send(value)
        except StopIteration as end:
            self.question, self.result = None, end.value


def _questions(folder: str | None, refuses: Refuses) -> Asking:
    asked = _("Job name, as printed on reports?")
    title = yield Question("job", asked, title_for(folder) if folder else _("New job"), checked(title_fault))
    if folder is None:
        asked = _("Name of its folder?")
        folder = yield Question("folder", asked, free_name(folder_for(title), refuses), checked(refuses))
    units = yield units_question()
    asked = _("Which benchmark is elevation zero?")
    zero = yield Question("zero", asked, "DOOR", checked(zero_fault))
    asked = _("What is that mark, so that anyone finds it?")
    default = _("threshold of the door") if zero == "DOOR" else _("a mark that stays")
    zero_is = yield Question(_("the zero is"), asked, default, checked(lambda text: text_fault(text, "text")))
    areas = yield from _areas()
    kinds: tuple[AreaKind, ...] = tuple(dict.fromkeys(kind for _, kind in areas))
    build_ups = {}
    for kind in kinds:
        build_ups[kind] = yield _build_up(kind, units)
    built = any(build_up != FINISH_ALONE for build_up in build_ups.values())
    tolerances = yield from _tolerances(units, built)
    asked = _("Smallest division on the rod?")
    usual = written(units.graduation, units)
    marks = yield Question(_("rod's marks"), asked, usual, rod_mark(units), says=writes(units))
    codes = yield codes_question()
    return NewJob(folder, Answers(title, units, zero, zero_is, areas, build_ups, tolerances, marks, codes))


def units_question() -> Question:
    means = (_("inches and fractions"), _("feet, inches and fractions"), _("feet in decimals"),
             _("millimeters"), _("centimeters"), _("meters"))  # fmt: skip
    choices = tuple(zip(map(str, Units), means, strict=True))
    asked = _("Which unit are lengths entered and shown in?")
    return Question("units", asked, "in", lambda text: Units(one_of(text, choices)), choices)


def codes_question() -> Question:
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


def _areas() -> Generator[Question, Any, tuple[tuple[str, AreaKind], ...]]:
    """Names of areas, each with its kind, until nothing more is named."""
    areas: tuple[tuple[str, AreaKind], ...] = ()
    choices = tuple(zip(KINDS, (_("falls two ways, checked on a grid"), _("two edges and a fall"),
                                _("one fall, two edges"),
                                _("a flight of risers"), _("runs with landings"), _("falls away from the pool")),
                        strict=True))  # fmt: skip
    while len(areas) < MOST_AREAS:
        asked = _("Name another area, or Enter for no more.") if areas else _("What is the first area called?")
        default = "" if areas else "patio"
        name = yield Question(
            "area" if default else _("another area"), asked, default, _area_name(areas), says=_or_none
        )
        if not name:
            break
        guess = next((kind for kind in sorted(KINDS, key=len, reverse=True) if kind in name.casefold()), "patio")
        asked = _("What kind of area is “{name}”?", name=name)
        kind = yield Question(_("its kind"), asked, guess, lambda text: one_of(text, choices), choices)
        areas = (*areas, (name, kind))
    return areas


def _build_up(kind: AreaKind, units: Units) -> Question:
    choices = tuple((word, build_up.in_words(units)) for word, build_up in BUILD_UPS[kind].items())
    asked = _("What layers go under the {kind}?", kind=kind)
    return Question(
        f"build-up, {kind}",
        asked,
        usual_build_up(kind),
        lambda text: one_of(text, choices),
        choices,
        dict(choices).__getitem__,
    )


def _tolerances(units: Units, built: bool) -> Generator[Question, Any, Tolerances]:
    """From the finish down, each at least what the one above it is."""
    usual = Tolerances.usual(units)
    found: dict[str, Length] = {}
    above = ZERO
    for stage in ("finish", "bedding", "base", "subgrade") if built else ("finish",):
        asked = _("Tolerance for {stage}, plus or minus?", stage=stage)
        default = written(max(getattr(usual, stage), above), units)
        least = above
        above = yield Question(
            _("{stage} within", stage=stage), asked, default, _at_least(least, units), says=writes(units)
        )
        found[stage] = above
    for upper, lower in pairwise(("finish", "bedding", "base", "subgrade")):
        found.setdefault(lower, max(getattr(usual, lower), found[upper]))
    return Tolerances(**found)


# Reading ------------------------------------------------------------------------------------------------------


def checked(fault_in: Refuses) -> Callable[[str], str]:
    def read(text: str) -> str:
        if fault := fault_in(text):
            raise NotPossibleError(fault)
        return text

    return read


def title_fault(text: str) -> str | None:
    return text_fault(text, "title")


def _area_name(areas: tuple[tuple[str, AreaKind], ...]) -> Callable[[str], str]:
    def fault_in(text: str) -> str | None:
        return areas_fault([*areas, (text, KINDS[0])]) if text else None

    return checked(fault_in)


def one_of(text: str, choices: Sequence[tuple[str, str]]) -> str:
    """The choice that was typed: its word, or a beginning that no other choice has."""
    words = [word for word, _ in choices]
    typed = " ".join(text.casefold().split())
    fitting = [word for word in words if word == typed] or [word for word in words if word.startswith(typed)]
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
    try:
        length = read_length(text, units)
    except NotUnderstoodError as wrong:
        raise NotPossibleError(str(wrong)) from wrong
    if length <= ZERO:
        raise NotPossibleError(_("This must be more than zero."))
    written(length, units)
    return length


def _at_least(least: Length, units: Units) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        length = above_zero(text, units)
        if length < least:
            says = _(
                "Above it {written} is allowed; tighter below is work that the next layer hides.",
                written=written(least, units),
            )
            raise NotPossibleError(says)
        return length

    return read


def rod_mark(units: Units) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        length = above_zero(text, units)
        if length > COARSEST:
            raise NotPossibleError(_("A rod's marks are at most 2 in (50 mm) apart; type how fine they are."))
        return length

    return read


def writes(units: Units) -> Callable[[Length], str]:
    return lambda length: written(length, units)


def _or_none(text: str) -> str:
    return text or _("no more")


def free_name(name: str, refuses: Refuses) -> str:
    """The name, or the next one with a number behind it that can be had; the name itself where none can."""
    numbered = (f"{name}-{number}" for number in range(2, 100))
    return next((each for each in (name, *numbered) if refuses(each) is None), name)
