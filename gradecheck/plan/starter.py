"""A new job file from a few answers: every section explained, with example areas that pass examination."""

from __future__ import annotations

import re

from gradecheck.measure.notation import Units
from gradecheck.plan.limits import CODES
from gradecheck.plan.starter_answers import Answers, NotPossibleError, Tolerances, written
from gradecheck.plan.starter_areas import STRIP, Kind, Ruler, area_lines, quoted
from gradecheck.plan.starter_layers import BUILD_UPS, FINISH_ALONE

__all__ = ["Answers", "NotPossibleError", "Tolerances", "starter_text"]

OWN_LETTER: dict[Kind, str] = {
    "patio": "P", "walk": "W", "driveway": "D", "steps": "S", "ramp": "R", "pool deck": "K",
}  # fmt: skip
"""What the points of an area of that kind begin with."""
LETTERS = "ABCEFGHJKLMNQTUVXYZDPRSW"
"""What an area's points may begin with where its own letter is taken; I and O look like figures."""

_SAYS = {
    Units.IN: "inches", Units.FT_IN: "inches", Units.FT: "feet",
    Units.MM: "millimeters", Units.CM: "centimeters", Units.M: "meters",
}  # fmt: skip


def starter_text(answers: Answers) -> str:
    """The job file, ready to be loaded and to be made one's own; nothing beyond reminders is found in it."""
    lines = [*_head(answers), *_known(answers), *_layers(answers), *_allowed(answers), "", "areas:"]
    letters = _letters(answers)
    for number, (name, kind) in enumerate(answers.areas):
        ruler = Ruler(answers.units, number * STRIP)
        built = kind if answers.build_up(kind) != FINISH_ALONE else None
        route = kind == "walk" and "us-accessible" in answers.codes
        lines += area_lines(kind, name, letters[number], ruler, answers.zero, built, accessible=route)
    return "\n".join(lines).rstrip() + "\n"


def _head(answers: Answers) -> list[str]:
    words = answers.units.examples
    return [
        "# The grade plan of one job. Lines that end in <-- hold examples: put your own numbers there.",
        "# Everything after a # is a remark. Every mistake is told with its line by: gradecheck examine",
        f"# Lengths: {words.lengths}; a bare number is {_SAYS[answers.units]} here.",
        f"# Slopes: {words.slopes}.",
        "# Local code, the drawings and licensed practice decide; gradecheck only compares readings with this plan.",
        "# Have buried services located before any dig.",
        "",
        f"job: {quoted(answers.title)}",
        f"units: {answers.units}",
        *_codes(answers),
    ]


def _codes(answers: Answers) -> list[str]:
    """The codes the job is held to, or how to name them."""
    named = f"codes: [{', '.join(answers.codes)}]" if answers.codes else "# codes: [us-residential]"
    return [
        "",
        "# The codes that the drawings name; the strictest holds, and a limit under rules: before all. Known:",
        *(f"#   {code}: {what}" for code, what in CODES.items()),
        named,
    ]


def _known(answers: Answers) -> list[str]:
    ruler, units = Ruler(answers.units), answers.units
    what = f", what: {quoted(answers.zero_is)}" if answers.zero_is.strip() else ""
    wall = f"[{ruler.place(0, 0)}, {ruler.place(STRIP * len(answers.areas), 0)}]"
    return [
        "",
        "# The rod. standard: readings grow upward from its foot; direct: they run with the ground.",
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
        f"# How far each surface may be off, high or low; apart: {answers.units.examples.apart}.",
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
        letter = next(letter for letter in (OWN_LETTER[kind], *LETTERS) if letter not in taken)
        taken.add(letter)
        found.append(letter)
    return found
