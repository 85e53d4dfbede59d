"""The command `new`: a guided start of a job, asked at the terminal or given as options."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import sys

from gradecheck.actions import Refusal
from gradecheck.commands.shared import print_json, printable
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.measure.notation import Units
from gradecheck.plan.folder_names import title_for
from gradecheck.plan.interview import Interview, Question, codes_named
from gradecheck.plan.load import FILE_NAME
from gradecheck.plan.names import one_form, visible
from gradecheck.plan.starter import KINDS, Answers, AreaKind, NotPossibleError, starter_text


def new(options: argparse.Namespace) -> int:
    """Begins a job; with a terminal and no answers as options it asks for them one at a time."""
    name = one_form(options.name)
    if fault := cannot_begin(options.folder, name):
        raise Refusal(fault)
    try:
        answers = _asked(name) if _is_to_ask(options) else _given(options, name)
    except NotPossibleError as wrong:
        raise Refusal(str(wrong)) from wrong
    except (KeyboardInterrupt, EOFError):
        print()
        raise Refusal("Not begun; nothing was written.") from None
    job = begin_job(options.folder, name, starter_text(answers))
    options.saved = True
    if options.json:
        areas = [{"name": area, "kind": kind} for area, kind in answers.areas]
        print_json(options, {"job": str(job), "file": str(job / FILE_NAME), "title": answers.title, "areas": areas})
        return 0
    print(
        printable(f"{job / FILE_NAME} is written. Its numbers are examples: put yours into the lines that end in <--")
    )
    print("What comes next:")
    shown = as_keyed(str(job))
    for verb, does in (("examine", "what is wrong with the plan"), ("targets", "every wanted elevation"),
                       ("open", "the app, on this job")):  # fmt: skip
        print(printable(f"  gradecheck {verb} {shown}"), f"  # {does}", sep="")
    return 0


def as_keyed(path: str, *, windows: bool = os.name == "nt") -> str:
    """The path as it is typed at a prompt: in quotes where a sign in it means something to the prompt."""
    if not windows:
        quoted = shlex.quote(path)
        if (shown := visible(path)) == path:
            return quoted
        return "$'" + shown.replace("'", "\\'") + "'"  # a byte that is no UTF-8, as bash and zsh read it
    return path if re.fullmatch(r"[\w\\/:.-]+", path) else f'"{path}"'


def _is_to_ask(options: argparse.Namespace) -> bool:
    said = (options.title, options.units, options.zero, options.area, options.codes, options.json)
    return not any(said) and sys.stdin.isatty() and sys.stdout.isatty()


def _given(options: argparse.Namespace, name: str) -> Answers:
    usual = Answers()
    zero, equals, zero_is = (options.zero or usual.zero).partition("=")
    if not equals:
        zero_is = usual.zero_is if zero == usual.zero else ""
    areas = tuple(map(_area, options.area)) if options.area else usual.areas
    units = Units(options.units) if options.units else usual.units
    title = options.title or title_for(name)
    codes = codes_named(options.codes) if options.codes else ()
    return Answers(title, units, zero.strip(), zero_is.strip(), areas, codes=codes)


def _area(text: str) -> tuple[str, AreaKind]:
    """A name and a kind, from ``NAME:KIND``; the name may have colons of its own."""
    name, colon, kind = text.rpartition(":")
    word = " ".join(kind.casefold().split())
    if not colon or word not in KINDS:
        known = f"{', '.join(KINDS[:-1])} or {KINDS[-1]}"
        raise Refusal(f"“{text}” is not NAME:KIND, for example terrace:patio; KIND is {known}.")
    return name.strip(), word


def _asked(name: str) -> Answers:
    interview = Interview(name)
    print(printable(f"A new job in {name}. Enter alone takes what is in brackets; Ctrl+C quits."))
    while (question := interview.question) is not None:
        _ask(interview, question)
    assert interview.result is not None
    return interview.result.answers


def _ask(interview: Interview, question: Question) -> None:
    """One question, put again until the answer can be taken."""
    wide = max((len(word) for word, _ in question.choices), default=0)
    for word, means in question.choices:
        print(printable(f"  {word:<{wide}}  {means}"))
    default = f" [{question.default}]" if question.default else ""
    while True:
        try:
            interview.answer(input(printable(f"{question.asks}{default} ")))
            return
        except NotPossibleError as wrong:
            print(printable(str(wrong)))
