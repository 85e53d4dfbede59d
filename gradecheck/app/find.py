"""Finding a point by part of its name, its digits or a word of where it is; areas and stages by part of a name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from gradecheck.catalogue import _, stage_word
from gradecheck.plan.names import folded
from gradecheck.report.log import LogRow
from gradecheck.state.state import State, Surface

SHOWN_AT_MOST = 6
"""Matches that are shown while a text is typed."""


@dataclass(frozen=True, slots=True)
class Match:
    """Something that the text may mean: a point, an area or a stage of the area at hand."""

    kind: Literal["point", "area", "stage"]
    name: str
    shown: str


def matches(state: State, here: Surface, text: str) -> list[Match]:
    """What the text may mean, the likeliest first; the points of the area at hand come before others alike.

    A name that begins so comes before one that has it within, that before digits, and a word of a description last.
    """
    wanted = folded(" ".join(text.split()))
    if not wanted:
        return []
    ranked = [
        *_stages(state, here, wanted),
        *_areas(state, here, wanted),
        *_points(state, here, wanted),
    ]
    return [match for _, _, match in sorted(ranked, key=lambda each: each[:2])]


def _rank(name: str, wanted: str) -> int | None:
    """How well a name fits: 0 the whole of it, 1 its beginning, 2 within, 3 its digits; None where it does not."""
    known = folded(name)
    if known == wanted:
        return 0
    if known.startswith(wanted):
        return 1
    if wanted in known:
        return 2
    digits = "".join(character for character in known if character.isdigit())
    return 3 if wanted.isdigit() and digits.lstrip("0") == wanted.lstrip("0") else None


def _points(state: State, here: Surface, wanted: str) -> list[tuple[int, int, Match]]:
    found = []
    for area in state.plan.areas.values():
        for point in area.points:
            rank = _rank(point.name, wanted)
            if rank is None and any(word.startswith(wanted) for word in _from_each_word(folded(point.what))):
                rank = 4
            if rank is not None:
                shown = f"{point.name} {point.what}".rstrip()
                found.append((rank, 0 if area.name == here.area else 2, Match("point", point.name, shown)))
    return found


def _from_each_word(text: str) -> list[str]:
    """The text from each of its words on, so that several words are found as well as one."""
    words = text.split()
    return [" ".join(words[at:]) for at in range(len(words))]


def entries(state: State, rows: Sequence[LogRow], about: Mapping[str, Sequence[str]], text: str) -> dict[int, int]:
    """The places of the log's rows that the text may mean, each with how well it fits, 0 the best.

    `about` are by a row's id the names that the entry is about. A name that begins so comes before one that has it
    within, that before digits alone and an entry's number, and a word of where it is or of what is told last.
    """
    wanted = folded(" ".join(text.split()))
    plan, found = state.plan, dict[int, int]()
    for place, row in enumerate(rows):
        names = about.get(row.id, ())
        ranks = [rank for name in names if (rank := _rank(name, wanted)) is not None]
        homes = ((name, plan.areas[plan.area_of[name]]) for name in names if name in plan.area_of)
        said = (row.subject_line, *(home.point(name).what for name, home in homes))
        if ranks:
            found[place] = min(ranks)
        elif wanted == str(row.seq):
            found[place] = 4
        elif any(word.startswith(wanted) for each in said for word in _from_each_word(folded(each))):
            found[place] = 5
    return found


def _areas(state: State, here: Surface, wanted: str) -> list[tuple[int, int, Match]]:
    ranks = ((_rank(name, wanted), name) for name in state.plan.areas)
    near = ((rank, name) for rank, name in ranks if rank is not None and rank < 3)
    return [(rank, 1, Match("area", name, _area(state, name, here.stage))) for rank, name in near]


def _area(state: State, name: str, stage: str) -> str:
    """An area with how far it is at that stage, or at its first."""
    area = state.plan.areas[name]
    at = stage if stage in area.stages else area.stages[0]
    return _(
        "{name} ({at}, {checked} of {points} read)",
        name=name,
        at=at,
        checked=state.checked(name, at),
        points=len(area.points),
    )


def _stages(state: State, here: Surface, wanted: str) -> list[tuple[int, int, Match]]:
    area = state.plan.areas[here.area]
    ranks = ((_rank_of_stage(stage, wanted), stage) for stage in area.stages)
    shown = {
        stage: _(
            "{stage} ({checked} of {points} read)",
            stage=stage,
            checked=state.checked(area.name, stage),
            points=len(area.points),
        )
        for stage in area.stages
    }
    return [(rank, 1, Match("stage", stage, shown[stage])) for rank, stage in ranks if rank is not None and rank < 2]


def _rank_of_stage(stage: str, wanted: str) -> int | None:
    """As it is written in the plan or as it is read, whichever fits better."""
    found = [rank for name in (stage, stage_word(stage)) if (rank := _rank(name, wanted)) is not None]
    return min(found, default=None)


def listed(found: list[Match]) -> str:
    """The first few matches on one line."""
    more = _(", and {found} more", found=len(found) - SHOWN_AT_MOST) if len(found) > SHOWN_AT_MOST else ""
    return f"{', '.join(match.shown for match in found[:SHOWN_AT_MOST])}{more}"


def listed_areas(state: State, here: Surface) -> str:
    """Every area with how far it is at the stage at hand."""
    return ", ".join(_area(state, name, here.stage) for name in state.plan.areas)
