"""The questions that a new job's plan is made of, area by area; every figure in the file was answered by a person.

Areas are laid out from each other: the first from the house, the next from an edge or the foot of one before. x runs
along the house and y away from it, from the left end of what is built first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from gradecheck.catalogue import _
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.asked_area import Asking
from gradecheck.plan.asked_areas import KINDS, LETTER, STANDING, area_questions
from gradecheck.plan.asked_build import Build, SecondZero
from gradecheck.plan.asked_edges import to_stand_along
from gradecheck.plan.folder_names import folder_for, title_for
from gradecheck.plan.names import folded, one_form
from gradecheck.plan.questions import (
    Question,
    Refuses,
    a_place,
    any_length,
    area_name_of,
    at_least,
    checked,
    choice_of,
    codes_question,
    free_name,
    or_nothing,
    rod_mark,
    said_length,
    said_lengths,
    title_missing,
    units_question,
    writes,
)
from gradecheck.plan.starter import LETTERS, MOST_AREAS, NotPossibleError, length_in_file, text_fault, zero_fault


class GuidedAnswers:
    """The question that is asked now, what was answered, and the plan as far as that goes.

    Answers are kept by what they answer, so that going back to one leaves the others as they are. `refuses` says why
    a folder can't be had; `folder` is its name where that is known before.
    """

    def __init__(self, refuses: Refuses, typed: Mapping[str, str] | None = None, folder: str = "") -> None:
        self._refuses = refuses
        self._folder = folder
        self.typed: dict[str, str] = dict(typed or {})
        self._asking = ""
        self.key = ""
        self.question: Question | None = None
        self.so_far: list[tuple[str, str, str]] = []
        """Key, what it is about, and the answer as it is shown, in the order they are asked."""
        self.build = Build()
        self._run()

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left to be asked."""
        return self.question is None

    def answer(self, text: str) -> None:
        """Answers the question; nothing typed takes what is offered. Raises `NotPossibleError`."""
        assert self.question is not None
        said = one_form(text.strip()) or self.question.default
        self.question.read(said)
        self.typed[self.key], self._asking = said, ""
        self._run()

    def go_to(self, key: str) -> None:
        """Asks that question again; what was answered behind it is kept where it still fits."""
        self._asking = key
        self._run()

    def back(self) -> bool:
        """To the question before this one; whether there was one."""
        keys = [key for key, _unused, _said in self.so_far]
        at = keys.index(self.key) if self.key in keys else len(keys)
        if at == 0:
            return False
        self.go_to(keys[at - 1])
        return True

    def preview(self) -> Build:
        """The plan as it would be if all that is offered were taken; an area without its sizes is left out."""
        build = Build()
        asking = _asking(build, self._refuses, self._folder)
        try:
            key, question = next(asking)
            while True:
                said = self.typed.get(key, question.default)
                if key not in self.typed and not said and question.about != ANOTHER:
                    break
                try:
                    key, question = asking.send(question.read(said))
                except NotPossibleError:
                    break
        except StopIteration:
            pass
        return build

    def _run(self) -> None:
        self.build, self.so_far = Build(), []
        asking = _asking(self.build, self._refuses, self._folder)
        self.key, self.question = "", None
        asked: tuple[str, Question] | None = None
        try:
            key, question = next(asking)
            while True:
                said = self.typed.get(key)
                if said is None:
                    break
                try:
                    value = question.read(said)
                except NotPossibleError:
                    break
                if key == self._asking:
                    asked = key, replace(question, default=said)
                self.so_far.append((key, question.about, question.says(value) or _("none")))
                key, question = asking.send(value)
            asked = asked or (key, replace(question, default=self.typed.get(key, question.default)))
        except StopIteration:
            pass
        if asked is not None:
            self.key, self.question = asked


ANOTHER = _("another area")


# -- the questions, in their order


def _asking(build: Build, refuses: Refuses, folder: str) -> Asking:
    asked = _("Job name, as printed on reports?")
    default = title_for(folder) if folder else ""
    build.title = yield "title", Question(_("job"), asked, default, checked(title_missing))
    build.folder = folder
    if not folder:
        offered = free_name(folder_for(build.title), refuses)
        build.folder = yield "folder", Question(_("folder"), _("Name of its folder?"), offered, checked(refuses))
    build.units = yield "units", units_question()
    build.zero = yield (
        "zero",
        Question(_("zero"), _("Which benchmark is elevation zero?"), "DOOR", checked(zero_fault)),
    )
    default = _("threshold of the door") if build.zero == "DOOR" else ""
    asked = _("What is that mark, so that anyone finds it?")
    build.zero_is = yield (
        "zero-what",
        Question(_("the zero is"), asked, default, checked(lambda text: text_fault(text, "text"))),
    )
    asked = _("How far is {zero} from the left end of the house side? Enter: not taped.", zero=build.zero)
    build.zero_at = yield (
        "zero-place",
        Question(_("zero lies at"), asked, "", or_nothing(any_length(build)), says=said_length(build)),
    )
    yield from _second_zero(build)
    build.codes = yield "codes", codes_question()
    build.graduation = yield "graduation", Question(
        _("rod's marks"), _("Smallest division on the rod?"), length_in_file(build.units.graduation, build.units),
        rod_mark(build.units), says=writes(build.units),
    )  # fmt: skip
    yield from _areas(build)
    above = ZERO
    for stage in build.stages:
        least = above
        asked = _("Tolerance for {stage}, plus or minus?", stage=stage)
        usual = max(build.usual(stage), least)
        above = yield f"{stage}: tolerance", Question(
            _("{stage} within", stage=stage), asked, length_in_file(usual, build.units), at_least(build, least),
            says=writes(build.units),
        )  # fmt: skip
        build.tolerances[stage] = above


def _second_zero(build: Build) -> Asking:
    """Another zero that areas may count from, by a mark that both know, or that is tied when it is shot."""
    asked = _("Does a part of it count from another zero, such as a pool's coping? Name that zero, or Enter for no.")
    name = yield (
        "second",
        Question(_("another zero"), asked, "", checked(_second_fault), says=lambda text: text or _("none")),
    )
    if not name:
        return
    mark_fault = _other_than(build.zero)
    asked = _("Which mark of {datum} is known?", datum=name)
    mark = yield "second-mark", Question(_("its mark"), asked, "COPING", checked(mark_fault))
    asked = _("What elevation has {mark}, counted from {datum}?", mark=mark, datum=name)
    reads = yield (
        "second-reads",
        Question(_("{mark} reads", mark=mark), asked, "0", any_length(build), says=said_length(build)),
    )
    asked = _("How far is {mark} above {zero}? A minus is below. Enter: not known, it is shot on site.",
              mark=mark, zero=build.zero)  # fmt: skip
    about = _("{mark} above {zero}", mark=mark, zero=build.zero)

    def tied(length: Length | None) -> str:
        return build.length(length) if length is not None else _("shot on site")

    above = yield "second-above", Question(about, asked, "", or_nothing(any_length(build)), says=tied)
    what, place = "", None
    if above is not None:
        asked = _("What is {mark}, so that anyone finds it?", mark=mark)
        what = yield (
            "second-what",
            Question(_("{mark} is", mark=mark), asked, "", checked(lambda text: text_fault(text, "text"))),
        )
        asked = _("Where is it: how far along the house side, and how far out from it? Enter: not taped.")
        place = yield (
            "second-place",
            Question(_("{mark} lies at", mark=mark), asked, "", or_nothing(a_place(build)), says=_said_place(build)),
        )
    build.second = SecondZero(name, mark, reads, above, what, tuple(place) if place else None)


def _second_fault(text: str) -> str | None:
    return zero_fault(text) if text else None


def _other_than(zero: str) -> Refuses:
    def fault_in(text: str) -> str | None:
        if folded(text) == folded(zero):
            return _("{zero} is the first zero's mark; name another.", zero=zero)
        return zero_fault(text)

    return fault_in


def _said_place(build: Build) -> Callable[[Sequence[Length] | None], str]:
    return lambda place: said_lengths(build)(place) if place else _("not taped")


def _areas(build: Build) -> Asking:
    number = 0
    while number < MOST_AREAS:
        number += 1
        asked = _("Name another area, or Enter for no more.") if build.areas else _("What is the first area called?")
        about = ANOTHER if build.areas else _("area")
        name = yield (
            f"{number}: area",
            Question(
                about,
                asked,
                "" if build.areas else "patio",
                area_name_of(build),
                says=lambda text: text or _("no more"),
            ),
        )
        if not name:
            return
        kinds = {kind: says for kind, says in KINDS.items() if to_stand_along(build) or kind not in STANDING}
        guess = next((kind for kind in sorted(kinds, key=len, reverse=True) if kind in name.casefold()), "patio")
        choices = tuple(kinds.items())
        kind = yield f"{name}: kind", Question(
            _("its kind"), _("What kind of area is “{name}”?", name=name), guess,
            choice_of(choices), choices,
        )  # fmt: skip
        letter = next(each for each in (LETTER[kind], *LETTERS) if each not in _taken(build))
        yield from area_questions(build, name, kind, letter)


def _taken(build: Build) -> set[str]:
    marks = [build.zero, *([build.second.mark] if build.second is not None else [])]
    return {*build.letters.values(), *(mark[0].upper() for mark in marks if re.search("[0-9]", mark))}
