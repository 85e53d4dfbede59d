"""What the verbs share: opening a job, finding what was named, and printing lengths and texts safely."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Container, Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

from gradecheck.actions import Refusal
from gradecheck.actions.entered import area_named
from gradecheck.catalogue import _
from gradecheck.cli.options import Call, answer_json
from gradecheck.journal.facts import Fact, Reading
from gradecheck.journal.recovery.backup import try_to_keep_copy
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import Length
from gradecheck.plan.load import PLAN_NAME, load_plan
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.names import as_known, visible
from gradecheck.plan.problems import suggestion
from gradecheck.report.decides import said_by
from gradecheck.session.session import NobodyError, Session
from gradecheck.sharing.last_copy import office_plans
from gradecheck.system import keymap
from gradecheck.system.settings import read_settings, this_laptop


@contextlib.contextmanager
def open_session(call: Call, options: Any) -> Iterator[Session]:
    """The job's session; who it is comes from ``--by``, ``GRADECHECK_BY``, its last entry here, or the settings."""
    liked = read_settings()
    keymap.use(liked.keys)
    session = Session(options.job, laptop=this_laptop())
    session.office_plans = office_plans(session.folder)
    began = session.seq
    session.say_waiting = tell
    nobody = _('No initials given; add --by XX with your initials, or name them in settings.toml: initials = "XX".')
    try:
        if by := getattr(options, "by", None):
            session.identify(by)
        elif by := os.environ.get("GRADECHECK_BY"):
            try:
                session.identify(by)
            except Refusal as wrong:  # only what records needs it, and then nobody else is put in its place
                session.by, nobody = "", _("GRADECHECK_BY is “{by}”. {wrong}", by=by, wrong=wrong)
        elif (by := session.by_or(liked.initials)) != session.by:
            session.identify(by)
        _tell_of_changes(session, call.verb)
        yield session
    except NobodyError:
        raise Refusal(nobody) from None
    finally:
        session.close()
        call.saved = call.saved or session.seq != began
        if session.remark:
            tell(session.remark)
        if session.seq != began:
            try_to_keep_copy(session.journal.path)


def tell(says: str) -> None:
    """A sentence beside the answer, which stays as it is for whoever reads on."""
    print(printable(says), file=sys.stderr, flush=True)


def tell_cautions(session: Session, facts: Iterable[Fact] = ()) -> None:
    """The day's cautions, once a day for each person, and one line where a stage below the finish is begun."""
    from gradecheck.report.cautions import caution_lines, stage_caution

    if not session.by:
        return  # refused in a moment
    if not session.cautioned_today:
        tell("\n".join(caution_lines(session.plan)))
    begun = {(fact.area, fact.stage): None for fact in facts if isinstance(fact, Reading)}
    for area, stage in begun:
        if not session.state.checked(area, stage) and (caution := stage_caution(session.plan, area, stage)):
            tell(f"{area}, {stage}: {caution}")


def _tell_of_changes(session: Session, verb: str) -> None:
    """That the job file changed, which only the verb `changes` tells in full."""
    wrong = session.plan_file.wrong
    if verb == "changes":
        if wrong is not None:
            raise wrong
    elif wrong is not None:
        tell(_("The job file has changed and can't be read; using the current plan. “gradecheck changes” shows why."))
    elif session.offered is not None:
        from gradecheck.report.plan_changes import offer_words

        what = offer_words(session.offered_number)
        tell(_("{what}; using the current plan. “gradecheck changes” shows what would change.", what=what))


def open_plan(path: Path) -> Plan:
    """The job's plan alone, without touching its journal."""
    return load_plan(path if path.is_file() else path / PLAN_NAME).plan


def chosen(
    plan: Plan, area: str | None = None, stage: str | None = None, day: str | None = None, gone: Container[str] = ()
) -> list[Area]:
    """The area that was named, or all, after stage and day were held to what there can be.

    `gone` are areas that the journal speaks of still, and the plan no more. Raises Refusal.
    """
    day_named(day)
    areas = list(plan.areas.values())
    if area is not None:
        areas = [] if area not in plan.areas and area in gone else [area_named(plan, area)]
    if stage is not None:
        meant_stage(areas, stage)
    return areas


def meant_stage(areas: Iterable[Area], typed: str) -> str:
    """The stage of those areas that is meant, whatever its capitals. Raises Refusal."""
    stages = list(dict.fromkeys(name for each in areas for name in each.stages))
    known = as_known(typed, stages)
    if known is None:
        near = suggestion(typed, stages)
        raise Refusal(
            _(
                "There is no stage “{typed}” here; known are {stages}.{meant}",
                typed=typed,
                stages=", ".join(stages),
                meant=near,
            )
        )
    return known


def day_named(typed: str | None) -> date | None:
    """The day that was named, None where none was. Raises Refusal."""
    if typed is None:
        return None
    with contextlib.suppress(ValueError):
        if (day := date.fromisoformat(typed)).isoformat() == typed:
            return day
    raise Refusal(_("“{typed}” is not a day; write it like 2026-05-12.", typed=typed))


def assignment(text: str, units: Units) -> tuple[str, str]:
    """A name and what the rod reads there, from ``NAME=READING``; `units` are those of its figure."""
    name, equals, typed = text.rpartition("=")  # a name may have one in it, a figure never
    if not equals or not name.strip():
        raise Refusal(
            _("“{text}” is not NAME=READING, for example DOOR={mark}.", text=text, mark=units.examples.mark)
        )
    return name.strip(), typed


def point_names(session: Session, given: Iterable[str]) -> list[str]:
    """The points named, with commas between them; one whose own name has a comma in it is given alone."""
    names: list[str] = []
    for each in given:
        whole = session.name_of(each)
        names += [part.strip() for part in each.split(",")] if whole is None else [whole]
    return names


def length_json(length: Length, notation: Notation) -> dict[str, object]:
    """A length for other programs: millimetres, and the text people see."""
    return length_text(length, show(length, notation, unit=True))


def length_text(length: Length, text: str) -> dict[str, object]:
    """The same with a text that was worked out elsewhere, as that of a figure beside its limit is."""
    return {"mm": length.mm, "text": text}


def has_braille() -> bool:
    """Whether what is printed can carry dots; another encoding would make question marks of them."""
    try:
        "\N{BRAILLE PATTERN DOTS-12345678}".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _whole(value: Any) -> Any:
    if isinstance(value, str):
        return visible(value) if any("\ud800" <= c <= "\udfff" for c in value) else value
    if isinstance(value, dict):
        return {key: _whole(each) for key, each in value.items()}
    return [_whole(each) for each in value] if isinstance(value, list | tuple) else value


def print_json(verb: str, value: Any) -> None:
    """The answer as JSON, pure ASCII so that no terminal takes it for anything else.

    A byte of a folder's name that is no UTF-8 stands there as on screen: what reads JSON may refuse half a pair.
    Who decides stands in the answer of a command that judges.
    """
    decides = said_by(verb)
    print(answer_json(verb, _whole(value), **({"decides": decides} if decides else {})))


def printable(text: str) -> str:
    """Text from files and people without anything a terminal would obey."""
    return "\n".join(map(visible, text.split("\n")))
