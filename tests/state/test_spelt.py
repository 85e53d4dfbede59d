"""A new job file in which only capitals are others is the same plan: all that was recorded is judged as before."""

from __future__ import annotations

import re
from contextlib import closing

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.cli.on_site import plan_on_site
from gradecheck.plan.changes import changes
from gradecheck.plan.read import read_plan
from gradecheck.report.log import log_row
from gradecheck.report.plan_changes import change_lines, summary
from gradecheck.session.session import Session
from gradecheck.state.built import exceptions
from gradecheck.state.signing import questions, signed_without
from gradecheck.state.state import Surface
from tests.strategies import examples

JOB = """\
job: Teasel Court
units: in
rods:
  <site rod>: {kind: standard}
  <ward rod>: {kind: direct}
benchmarks:
  <Dör>: {elevation: 0, at: [0 ft, 0 ft]}
  <pin>: -3
datums:
  <pool>: {mark: <coping>, reads: 0}
build-ups:
  <deep>:
    layers: [{paver: 2}, {<sand>: 1}, {<base>: 6}]
    loose: {<base>: 7}
tolerances: {subgrade: 1/2, <base>: 3/8, <base> loose: 1/2, <sand>: 1/4, finish: 1/8}
walls:
  <house>: [[0 ft, 0 ft], [24 ft, 0 ft]]
layout:
  <corner>: {sides: [24 ft, 20 ft]}
areas:
  <terrace>:
    build-up: <deep>
    drains: {away from: <house>}
    points:
      <t1>: {from: <Dör>, fall: 1/4 in/ft, over: 1 ft, at: [0 ft, 1 ft]}
      <t2>: {from: <t1>, down: 1, riser: 6}
    surface: {at: <t1>, fall: {y: 2%}}
    outline: [[0 ft, 0 ft], [24 ft, 0 ft], [24 ft, 20 ft], [0 ft, 20 ft]]
    grid: {every: 12 ft, name: <g>}
  <deck>:
    datum: <pool>
    points: {<d1>: {from: <coping>, down: 1, riser: 6}, <é2>: -2}
"""
NAMES = sorted(set(re.findall("<(.+?)>", JOB)))
WAYS = {"as it is": str, "upper": str.upper, "title": str.title, "swapped": str.swapcase}


def _text(how: dict[str, str]) -> str:
    return re.sub("<(.+?)>", lambda found: WAYS[how.get(found[1], "as it is")](found[1]), JOB)


spellings = st.fixed_dictionaries({name: st.sampled_from(sorted(WAYS)) for name in NAMES})


@given(spellings, spellings)
@examples(40)
def test_a_plan_with_other_capitals_changes_nothing(one: dict[str, str], other: dict[str, str]) -> None:
    old, new = read_plan(_text(one), "job.yaml"), read_plan(_text(other), "job.yaml")
    found = changes(old, new)
    assert not found
    assert change_lines(found, new.notation) == []
    assert summary(found, new.notation) == "no target changes"


def test_what_is_changed_beside_the_capitals_is_told_under_the_new_name() -> None:
    old = read_plan(_text({}), "job.yaml")
    new = read_plan(
        _text({"t2": "upper"}).replace("down: 1, riser: 6}\n    surface", "down: 1, riser: 7}\n    surface"), ""
    )
    [line] = change_lines(changes(old, new), new.notation)
    assert line.startswith("terrace: 1 point moved (T2) at ")
    assert line.endswith("all -1 in")


def _known(session: Session) -> dict[str, object]:
    """All that is known of the work, under names without capitals."""
    state = session.state
    verdicts = {surface: state.verdict(surface) for surface in state.shots}
    return {
        "verdicts": {tuple(map(str.casefold, surface)): verdict for surface, verdict in verdicts.items()},
        "checked": {
            (area.casefold(), stage.casefold()): state.checked(area, stage)
            for area, found in session.plan.areas.items()
            for stage in found.stages
        },
        "marks": {mark.casefold(): state.mark(mark) for mark in state.book.marks()},
        "out": [
            tuple(tuple(map(str.casefold, names)) for names in exceptions(state, area, stage))
            for area, found in session.plan.areas.items()
            for stage in found.stages
        ],
        "datum": (state.datum or "").casefold(),
        "signed": [
            bool(state.record.signed(area, stage))
            for area, found in session.plan.areas.items()
            for stage in found.stages
        ],
        "signed over": [sorted(map(str.casefold, signed_without(state, area))) for area in session.plan.areas],
        "taped": [len(state.record.taped(name)) for name in session.plan.layout],
        "gauged": [len(state.record.gauged(name)) for name in session.plan.areas],
        "targets": {
            (point.name.casefold(), stage.casefold()): state.target(Surface(area, point.name, stage))
            and state.target(Surface(area, point.name, stage)).wanted  # type: ignore[union-attr]
            for area, found in session.plan.areas.items()
            for point in found.points
            for stage in found.stages
        },
        "tolerances": [list(area.tolerances.values()) for area in session.plan.areas.values()],
        "log": [
            tuple(part.casefold() for part in (row.subject, row.then, row.now))
            for row in (log_row(state, line) for line in session.all_lines())
            if row.kind != "plan"
        ],
        "of the area": [
            [line.entry.seq for line in session.lines(area) if line.entry.kind != "plan"]
            for area in session.plan.areas
        ],
        "instrument": state.setup is not None and state.setup.instrument is not None,
        "agreement": [state.book.agreement(stood) for stood in state.book.setups()] and True,
    }


def _worked(session: Session) -> None:
    """A day in which every kind of name is recorded."""
    session.record(*actions.backsight(session.state, "Dör", "48"))
    session.record(*actions.backsight(session.state, "pin", "51"))
    session.record(actions.finish_setup(session.state))
    session.record(actions.mark(session.state, "coping", "50", "coping"))
    session.record(actions.mark(session.state, "TP1", "40"))
    session.record(actions.show_datum(session.state, "pool"))
    session.record(actions.reading(session.state, Surface("terrace", "t1", "base"), "57 1/4"))
    session.record(actions.reading(session.state, Surface("terrace", "t1", "base loose"), "56 1/4"))
    session.record(actions.reading(session.state, Surface("terrace", "t2", "finish"), "54 1/2"))
    session.record(actions.reading(session.state, Surface("deck", "d1", "finish"), "56"))
    kept = session.record(actions.reading(session.state, Surface("deck", "é2", "finish"), "53"))
    session.record(session.correct(kept.id, "52"))
    session.record(actions.recheck(session.state, "pin", "51"))
    session.record(actions.add_point(session.state, "terrace", "N1", "from t2 fall 2% over 12 ft"))
    session.record(actions.reading(session.state, Surface("terrace", "N1", "finish"), "56"))
    session.record(actions.change_target(session.state, "é2", "-4", "a root"))
    session.record(actions.change_tolerance(session.state, "terrace", "base", "1/4", "asked"))
    one, other = (name for name, _ in session.plan.layout["corner"].corners[:2])
    session.record(actions.tape(session.state, "corner", one, other, "24 ft"))
    session.record(actions.gauge(session.state, "lippage", "terrace", "by the door", "1/16"))
    session.record(actions.promote(session.state, Surface("deck", "d1", "finish"), "nail"))
    session.record(actions.note("dry", "deck"))
    for area in ("deck", "terrace"):  # the terrace over stages that nobody read
        out, unread, _, _ = exceptions(session.state, area, "finish")
        asked = questions(session.state, area, "finish")
        session.record(actions.sign_off(session.state, area, "finish", [*out, *unread], asked=asked))


@given(spellings)
@examples(25, few=8)
def test_taken_over_everything_recorded_counts_as_before(
    tmp_path_factory: pytest.TempPathFactory, how: dict[str, str]
) -> None:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(_text({}), encoding="utf-8")
    with closing(Session(folder, by="RK")) as session:
        _worked(session)
        before = _known(session)
        assert before["signed over"] == [["sand", "subgrade"], []]
        (folder / "job.yaml").write_text(_text(how), encoding="utf-8")
        assert plan_on_site(folder).plan.areas.keys() == read_plan(_text(how), "job.yaml").areas.keys()
        session.plan_file.refresh()
        if session.offered is not None:
            assert not session.offered_changes
            session.record(session.accept_plan())
        assert _known(session) | {"log": 0} == before | {"log": 0}
        # What is put right, struck and read afterwards goes to the same points.
        last = session.last_reading()
        assert last is not None
        session.record(session.correct(last.id, "55"))
    with closing(Session(folder, by="RK")) as session:
        t1 = session.plan.names["t1"]
        area = session.plan.area_of[t1]
        assert session.state.latest(Surface(area, t1, session.plan.areas[area].stages[2]))
        assert session.state.latest(Surface(area, session.name_of("n1") or "", "finish"))
