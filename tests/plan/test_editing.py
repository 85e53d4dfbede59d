"""What is typed and taken back while a plan is edited: what counts as a change, and what a deletion takes along."""

from __future__ import annotations

import pytest

from gradecheck.plan.editing import Editing, deleting, list_of_keys, putting
from gradecheck.plan.edits import EditRefusedError, JobFileDraft, Put
from gradecheck.plan.read import read_plan

JOB = """\
job: Wrenfield yard
units: in
rods:
  site rod:
    graduation: 1/16 in
  hand rod: {kind: direct, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0}
tolerances: {finish: 1/8 in}
build-ups:
  yard:
    - paver: 2 3/8 in
    - base: 6 in
areas:
  walk:
    points:
      W1: {elevation: -1}
"""


def editing(text: str = JOB) -> Editing:
    return Editing(JobFileDraft(text), lambda text, _lists: read_plan(text, "job.yaml"))


def test_what_changes_nothing_is_no_change_to_take_back() -> None:
    edits = editing()
    edits.make(putting(("areas", "walk", "points", "W1", "elevation"), "-1"))
    assert (edits.count, edits.is_changed, edits.take_back()) == (0, False, False)


def test_made_anew_on_another_text_it_is_compared_with_that_one() -> None:
    edits = editing()
    edits.make(putting(("areas", "walk", "points", "W1", "elevation"), "-2"))
    edits.begin_anew(JobFileDraft(JOB.replace("elevation: -1", "elevation: -2")))
    assert (edits.count, edits.is_changed) == (1, False)


def test_with_the_last_key_of_a_rod_the_rod_stays() -> None:
    with pytest.raises(EditRefusedError, match="delete the whole entry"):
        editing().make(deleting(("rods", "site rod", "graduation")))


def test_what_is_typed_with_a_key_twice_belongs_to_the_first() -> None:
    path = ("areas", "walk", "points", "W2")
    assert list_of_keys("from W1, over 4 ft, over 5 ft", path) == {"from": "W1", "over": "4 ft, over 5 ft"}


def test_layers_are_added_behind_those_on_lines_of_their_own() -> None:
    layers = ("build-ups", "yard")
    more = JobFileDraft(JOB).edited(Put(layers, [{"paver": "2 3/8 in"}, {"base": "6 in"}, {"sand": "1 in"}]))
    assert more.text == JOB.replace("    - base: 6 in\n", "    - base: 6 in\n    - {sand: 1 in}\n")
