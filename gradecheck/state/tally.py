"""How many points of an area are on grade, out, in doubt and unread at a stage: counted here for every screen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gradecheck.measure.verdict_words import Word
from gradecheck.state.state import State, Surface

DOUBT = "doubt"


@dataclass(frozen=True, slots=True)
class StageCount:
    """How many points of an area are on grade, out, in doubt or not judged, and unread at a stage."""

    points: int
    on_grade: int
    out: int
    doubt: int
    unread: int
    spots: int = 0
    """Spots on strings in doubt; they are none of the points."""

    @property
    def left(self) -> int:
        """How many are not on grade yet."""
        return self.points - self.on_grade

    @property
    def read(self) -> int:
        """How many have a reading that counts."""
        return self.points - self.unread


def word_at(state: State, surface: Surface) -> str:
    """The word of a point: a verdict's, ``doubt`` also where it can't be judged, empty where it is unread."""
    shot = state.latest(surface)
    if shot is None:
        return ""
    verdict = state.verdict(surface)
    if verdict is None or state.in_doubt(shot) or verdict.word in (Word.TOO_CLOSE, Word.EXAMPLE):
        return DOUBT
    return verdict.word.value


def stage_count(words: Iterable[str]) -> StageCount:
    """The counts of points by their words."""
    words = list(words)
    return StageCount(
        points=len(words),
        on_grade=words.count(Word.ON_GRADE.value),
        out=words.count(Word.CUT.value) + words.count(Word.FILL.value),
        doubt=words.count(DOUBT),
        unread=words.count(""),
    )


def is_begun(state: State, area: str, stage: str) -> bool:
    """Whether anything was read there that counts, on a point or on a string."""
    return bool(state.checked(area, stage)) or any((at.area, at.stage) == (area, stage) for at in state.shots)


def count_stage(state: State, area: str, stage: str) -> StageCount:
    """The counts of an area at a stage; every point that was read is judged."""
    points = state.plan.areas[area].points
    if not state.checked(area, stage):
        return StageCount(len(points), 0, 0, 0, len(points))
    return stage_count(word_at(state, Surface(area, point.name, stage)) for point in points)
