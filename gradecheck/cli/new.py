"""The verb `new`: a guided start of a job, asked at the terminal or given as options."""

from __future__ import annotations

import os
import re
import shlex
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.options import Options, Reply, as_path, named, option, verb
from gradecheck.cli.shared import printable
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.measure.notation import Units
from gradecheck.plan.folder_names import title_for
from gradecheck.plan.interview import Interview, Question, codes_named
from gradecheck.plan.load import FILE_NAME
from gradecheck.plan.names import one_form, visible
from gradecheck.plan.starter import KINDS, Answers, AreaKind, NotPossibleError, starter_text


@dataclass(frozen=True, kw_only=True, slots=True)
class New(Options):
    name: str = named("NAME", help=_("the job's folder, which is made"))
    folder: Path = option("--in", metavar="FOLDER", type=as_path, default=Path("jobs"))
    title: str | None = option("--title", metavar="TEXT", help=_("what the day's records are headed with"))
    units: str | None = option("--units", choices=("in", "ft-in", "ft", "mm", "cm", "m"))
    zero: str | None = option(
        "--zero", metavar="MARK", help=_("the mark that is the zero; MARK=TEXT says what it is")
    )
    area: Sequence[str] = option(
        "--area", metavar="NAME:KIND", action="append", default=(), help=_("may be given several times")
    )
    codes: str | None = option(
        "--codes", metavar="CODE,...", help=_("what the drawings name; gradecheck rules lists them")
    )


@verb(New)
def new(options: New) -> Reply:
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
        raise Refusal(_("Not begun; nothing was written.")) from None
    job = begin_job(options.folder, name, starter_text(answers))
    shown, file = as_keyed(str(job)), job / FILE_NAME
    lines = [
        _("{file} is written. Its numbers are examples: put yours into the lines that end in <--", file=file),
        _("What comes next:"),
        _("  gradecheck examine {shown}  # what is wrong with the plan", shown=shown),
        _("  gradecheck targets {shown}  # every target elevation", shown=shown),
        _("  gradecheck open {shown}  # the app, on this job", shown=shown),
    ]
    areas = [{"name": area, "kind": kind} for area, kind in answers.areas]
    answer = {"job": str(job), "file": str(file), "title": answers.title, "areas": areas}
    return Reply(answer, lines, saved=True)


def as_keyed(path: str, *, windows: bool = os.name == "nt") -> str:
    """The path as it is typed at a prompt: in quotes where a sign in it means something to the prompt."""
    if not windows:
        quoted = shlex.quote(path)
        if (shown := visible(path)) == path:
            return quoted
        return "$'" + shown.replace("'", "\\'") + "'"  # a byte that is no UTF-8, as bash and zsh read it
    return path if re.fullmatch(r"[\w\\/:.-]+", path) else f'"{path}"'


def _is_to_ask(options: New) -> bool:
    said = (options.title, options.units, options.zero, options.area, options.codes, options.json)
    return not any(said) and sys.stdin.isatty() and sys.stdout.isatty()


def _given(options: New, name: str) -> Answers:
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
        known = _("{kinds} or {last}", kinds=", ".join(KINDS[:-1]), last=KINDS[-1])
        raise Refusal(
            _("“{text}” is not NAME:KIND, for example terrace:patio; KIND is {known}.", text=text, known=known)
        )
    return name.strip(), word


def _asked(name: str) -> Answers:
    interview = Interview(name)
    print(printable(_("A new job in {name}. Enter alone takes what is in brackets; Ctrl+C quits.", name=name)))
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
