"""The verb `new`: a guided start of a job, asked at the terminal; or a file of examples."""

from __future__ import annotations

import os
import re
import shlex
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.cli.options import Options, Reply, as_path, flag, named, option, verb
from gradecheck.cli.shared import printable
from gradecheck.files.guided import Guided
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show, with_true_minus
from gradecheck.plan.folder_names import title_for
from gradecheck.plan.load import PLAN_NAME
from gradecheck.plan.names import one_form, visible
from gradecheck.plan.questions import Question, codes_named
from gradecheck.plan.starter import KINDS, AreaKind, JobAnswers, NotPossibleError, starter_text


@dataclass(frozen=True, kw_only=True, slots=True)
class NewOptions(Options):
    name: str = named("NAME", help=_("the job's folder; it will be made"))
    folder: Path = option("--in", metavar="FOLDER", type=as_path, default=Path("jobs"))
    title: str | None = option("--title", metavar="TEXT", help=_("the job's name, as printed on reports"))
    units: str | None = option("--units", choices=("in", "ft-in", "ft", "mm", "cm", "m"))
    zero: str | None = option(
        "--zero", metavar="MARK", help=_("the benchmark that is the zero; MARK=TEXT describes it")
    )
    area: Sequence[str] = option(
        "--area", metavar="NAME:KIND", action="append", default=(), help=_("can be repeated")
    )
    example: bool = flag("--example", help=_("ask nothing: write a file of marked example values to edit"))
    codes: str | None = option(
        "--codes", metavar="CODE,...", help=_("the codes on the drawings; gradecheck rules lists them")
    )


@verb(NewOptions)
def new(options: NewOptions) -> Reply:
    """Begins a job by questions at the terminal; what is given as options is answered already.

    With --example nothing is asked: the file holds example figures, marked, to be edited.
    """
    name = one_form(options.name)
    if fault := cannot_begin(options.folder, name):
        raise Refusal(fault)
    if not options.example and (options.json or not (sys.stdin.isatty() and sys.stdout.isatty())):
        says = _("There is no terminal to ask at; --example writes a file of examples instead.")
        raise Refusal(says)
    try:
        given = _given(options, name)
    except NotPossibleError as wrong:
        raise Refusal(str(wrong)) from wrong
    title, areas = given.title, [{"name": area, "kind": str(kind)} for area, kind in given.areas]
    if options.example:
        job = begin_job(options.folder, name, starter_text(given))
    else:
        guided = Guided(options.folder, name, _as_answers(options, given))
        job, build = _asked(guided), guided.asked.build
        title, areas = build.title, [{"name": area, "kind": kind} for area, kind in build.kinds.items()]
    shown, file = as_keyed(str(job)), job / PLAN_NAME
    examples = _("{file} is written. Its numbers are examples: put yours into the lines that end in <--", file=file)
    lines = [
        examples
        if options.example
        else _("{file} is written; every number in it is one of your answers.", file=file),
        _("What comes next:"),
        _("  gradecheck examine {shown}  # what is wrong with the plan", shown=shown),
        _("  gradecheck targets {shown}  # every target elevation", shown=shown),
        _("  gradecheck open {shown}  # the app, on this job", shown=shown),
    ]
    answer = {"job": str(job), "file": str(file), "title": title, "areas": areas}
    return Reply(answer, lines, saved=True)


def as_keyed(path: str, *, windows: bool = os.name == "nt") -> str:
    """The path as it is typed at a prompt: in quotes where a sign in it means something to the prompt."""
    if not windows:
        quoted = shlex.quote(path)
        if (shown := visible(path)) == path:
            return quoted
        return "$'" + shown.replace("'", "\\'") + "'"  # a byte that is no UTF-8, as bash and zsh read it
    return path if re.fullmatch(r"[\w\\/:.-]+", path) else f'"{path}"'


def _given(options: NewOptions, name: str) -> JobAnswers:
    usual = JobAnswers()
    zero, equals, zero_is = (options.zero or usual.zero).partition("=")
    if not equals:
        zero_is = usual.zero_is if zero == usual.zero else ""
    areas = tuple(map(_area, options.area)) if options.area else usual.areas
    units = Units(options.units) if options.units else usual.units
    title = options.title or title_for(name)
    codes = codes_named(options.codes) if options.codes else ()
    return JobAnswers(title, units, zero.strip(), zero_is.strip(), areas, codes=codes)


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


def _as_answers(options: NewOptions, given: JobAnswers) -> dict[str, str]:
    """What was given as options, as answers to the questions."""
    answers = {"title": options.title or "", "units": options.units or "", "codes": ", ".join(given.codes)}
    if options.zero:
        answers |= {"zero": given.zero, "zero-what": given.zero_is}
    for number, (area, kind) in enumerate(given.areas if options.area else (), 1):
        answers |= {f"{number}: area": area, f"{area}: kind": kind}
    return {key: text for key, text in answers.items() if text}


# -- the questions at the terminal

BACK, LIST = "<", "?"


def _asked(guided: Guided) -> Path:
    """Asks until all is answered and written; gives the job's folder."""
    _say(_("Enter alone takes what is in brackets. < goes back a question, <3 to answer 3; ? shows the answers."))
    _say(_("Ctrl+C leaves; the answers are kept."))
    if guided.taken_up:
        _say(plural(guided.taken_up, "Taken up again with {n} answer.", "Taken up again with {n} answers."))
    shown: dict[str, str] = {}
    try:
        while (question := guided.asked.question) is not None:
            _ask(guided, question)
            for line in _news(guided, shown):
                _say(line)
        while True:
            says = _("Enter writes {file}; <3 goes back to answer 3, ? shows them all.", file=guided.job / PLAN_NAME)
            if not (text := input(printable(f"{says} ")).strip()):
                return guided.write()
            if _moved(guided, text):
                return _asked(guided)
            _say(_("All answered; press Enter alone to write it."))
    except (KeyboardInterrupt, EOFError):
        print()
        if not guided.asked.typed:
            raise Refusal(_("Not started; nothing was written.")) from None
        raise Refusal(_("Not written yet; the answers are kept, and the same command takes them up again.")) from None


def _ask(guided: Guided, question: Question) -> None:
    """One question, put again until the answer can be taken."""
    wide = max((len(word) for word, _ in question.choices), default=0)
    for word, means in question.choices:
        _say(f"  {word:<{wide}}  {means}")
    default = f" [{question.default}]" if question.default else ""
    while True:
        text = input(printable(f"{question.asks}{default} "))
        if _moved(guided, text.strip()):
            return
        try:
            guided.answer(text)
        except Refusal as wrong:
            _say(str(wrong))
        else:
            return


def _moved(guided: Guided, text: str) -> bool:
    """Whether the text asks for an earlier answer or the list of them, and not an answer itself."""
    asked = guided.asked
    if text == LIST:
        for number, (_key, about, said) in enumerate(asked.so_far, 1):
            _say(_("{number:>3}  {about}: {said}", number=number, about=about, said=said))
        return True
    if not re.fullmatch(f"{BACK}\\s*[0-9]{{0,3}}", text):
        return False
    number = int(text[1:] or 0)
    if number > len(asked.so_far):
        _say(_("There are {n} answers so far; ? shows them.", n=len(asked.so_far)))
    elif number:
        asked.go_to(asked.so_far[number - 1][0])
    elif not asked.back():
        _say(_("This is the first question."))
    return True


def _news(guided: Guided, shown: dict[str, str]) -> Iterator[str]:
    """The heights of each area that came or changed with the last answer, and findings that were not told yet."""
    plan = guided.plan
    if plan is None:
        return
    for area in plan.areas.values():
        heights = [point.finish for point in area.points]
        highest, lowest = (
            with_true_minus(show(each.height, plan.notation, unit=True)) for each in (max(heights), min(heights))
        )
        says = plural(len(heights), "  {area}: {n} point, highest {highest}, lowest {lowest}",
                      "  {area}: {n} points, highest {highest}, lowest {lowest}",
                      area=area.name, highest=highest, lowest=lowest)  # fmt: skip
        if shown.get(area.name) != says:
            shown[area.name] = says
            yield says
    for found in guided.found:
        if found not in shown:
            shown[found] = found
            yield _("  look at: {found}", found=found)


def _say(text: str) -> None:
    print(printable(text))
