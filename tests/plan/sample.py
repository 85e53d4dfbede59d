"""A small sound job file, ways to spoil it, and what is then said about it."""

from __future__ import annotations

import unicodedata

import pytest

from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem
from gradecheck.plan.read import read_plan

WALK = """\
job: Fernhill Mews
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0, what: threshold}
build-ups:
  walk: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
tolerances:
  subgrade: {high: 1/2 in, low: 3/4 in}
  base: 3/8 in
  bedding: 1/4 in
  finish: 1/8 in
areas:
  garden walk:
    build-up: walk
    points:
      W1: {from: DOOR, fall: 3/16 in/ft, over: 15 ft}
      W2: -3 1/4 in
"""
"""An invented site; sound as it stands."""

HERE = "§"
"""Stands in a spoiled file where the complaint must point; it is taken out before the file is read."""


def spoiled(*changes: tuple[str, str], text: str = WALK) -> str:
    """The job file with texts replaced, each of which must be there just once."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is {text.count(old)} times in the file"
        text = text.replace(old, new)
    return text


def marked(text: str) -> tuple[str, list[tuple[int, int]]]:
    """The text without its marks, and the line and column (from 1) at which each stood."""
    places = []
    while (at := text.find(HERE)) >= 0:
        places.append((text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)))
        text = text[:at] + text[at + 1 :]
    return text, places


def plan_of(text: str) -> Plan:
    """The plan that a sound file means."""
    return read_plan(text, "job.yaml")


def complaints(text: str) -> tuple[Problem, ...]:
    """Everything said about a file that is not sound."""
    with pytest.raises(PlanProblemsError) as refused:
        read_plan(text, "job.yaml")
    return refused.value.problems


def complaint(text: str) -> Problem:
    """What is said about a file with one fault, and nothing besides."""
    problems = complaints(text)
    assert len(problems) == 1, str(problems)
    return problems[0]


def harmless(text: str) -> bool:
    """Whether a terminal would show the text and do nothing else; spaces of any width are harmless."""
    return all(character.isprintable() or unicodedata.category(character) == "Zs" for character in text)
