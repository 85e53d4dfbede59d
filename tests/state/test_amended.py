"""What is added to the plan and changed in it on site: it counts, can be struck, and goes back to the office."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.codec import decode
from gradecheck.journal.facts import Draft, PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, inches, millimetres
from gradecheck.measure.typed import Tolerance, read_length
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.plan.names import one_form
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.plan.yaml_tree import read_yaml
from gradecheck.report.plan_changes import amendment_line, plan_text
from gradecheck.session.session import Session
from gradecheck.state.amended import Amendment, amended
from gradecheck.state.state import Surface
from tests.strategies import examples
from tests.thorough import some

JOB = """\
job: Plover Rise
units: in
benchmarks:
  DOOR: {elevation: 0, at: [0, 0]}
  PIN: {elevation: -40}
datums: {office: {mark: PIN, reads: 100 ft}}
build-ups: {terrace: [{paver: 2 3/8}, {base: 6}]}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
areas:
  terrace:
    build-up: terrace
    surface: {at: DOOR, fall: {x: 2%, y: 1%}}
    points:
      T1: {from: DOOR, fall: 1/4 in/ft, over: 4 ft}
      T2: {at: [10 ft, 0], what: by the pear tree}
  walk:
    points:
      W1: {from: T1, down: 1, riser: 6}
  garden:
    datum: office
    points:
      G1: {from: PIN, fall: 2%, over: 50}
"""
"""T1 lies at -1, T2 at -2.4, W1 at -7; G1 1 in below PIN, so at 99 ft 11 in by the office and at -41 by DOOR."""


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Callable[[], Session]]:
    """Opens another window on the job."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with ExitStack() as at_the_end:

        def opened() -> Session:
            session = Session(tmp_path, by="RK")
            at_the_end.callback(session.close)
            return session

        yield opened


@pytest.fixture
def session(window: Callable[[], Session]) -> Session:
    """One window on a job where nothing has happened yet."""
    return window()


def _inch(text: str) -> Length:
    return read_length(text, Units.IN)


def _height(session: Session, point: str, stage: str = "finish") -> Length:
    plan = session.plan
    area = plan.areas[plan.area_of[point]]
    return target(area, area.point(point), stage).wanted.height


def _add(session: Session, area: str, name: str, how: str, what: str = "") -> str:
    return session.record(actions.add_point(session.state, area, name, how, what)).id


# Adding a point -----------------------------------------------------------------------------------------------

WAYS = [
    # in which area, how it is keyed, its finish, the sum
    ("terrace", "from T1 fall 2% over 10 ft", "-3.4", "T1 −1 − 10 ft × 2% = −3.4 in"),
    ("terrace", "from DOOR rise 1/8 in/ft over 8 ft", "1", "DOOR 0 + 96 in × 1/8 in/ft = 1 in"),
    ("walk", "from W1 down 2 x 6 in", "-19", "W1 −7 − 2 × 6 in = −19 in"),
    ("walk", "from w1 up 1 × 5 1/2", "-1 1/2", "W1 −7 + 1 × 5 1/2 in = −1 1/2 in"),
    ("walk", "from T1 fall 2% over 50 down 1 x 6", "-8", "T1 −1 − 50 in × 2% − 1 × 6 in = −8 in"),
    ("terrace", "at 10 ft, 5 ft", "-3", "plane through DOOR = −3 in"),
    ("terrace", "-3 1/4", "-3 1/4", "−3 1/4 in as given on site"),
    ("garden", "from PIN fall 2% over 100", "1198", "PIN 1200 − 100 in × 2% = 1198 in"),
    ("garden", "from G1 down 1 x 6", "1193", "G1 1199 − 1 × 6 in = 1193 in"),
]


@pytest.mark.parametrize(("area", "how", "finish", "sum_"), WAYS, ids=[row[1] for row in WAYS])
def test_a_point_is_added_from_a_known_one_by_place_or_by_elevation(
    session: Session, area: str, how: str, finish: str, sum_: str
) -> None:
    _add(session, area, "N1", how)
    point = session.plan.areas[area].point("N1")
    assert point.finish.height == _inch(finish)
    assert point.working.replace("120 in ×", "10 ft ×") == sum_
    assert point.on_site


def test_an_added_point_is_the_last_of_its_area_and_has_every_stage(session: Session) -> None:
    _add(session, "terrace", "N1", "from T1 fall 2% over 50", "by the new drain")
    assert [point.name for point in session.plan.areas["terrace"].points] == ["T1", "T2", "N1"]
    assert _height(session, "N1") == _inch("-2")
    assert _height(session, "N1", "subgrade") == _inch("-10 3/8")
    assert session.plan.areas["terrace"].point("N1").what == "by the new drain"


def test_an_added_point_is_read_and_judged_as_any_other(session: Session) -> None:
    _add(session, "walk", "N1", "-3")
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, Surface("walk", "N1", "finish"), "50 1/2"))
    verdict = session.state.verdict(Surface("walk", "N1", "finish"))
    assert verdict is not None
    assert verdict.word is Word.CUT


def test_from_an_added_point_another_is_counted(session: Session) -> None:
    _add(session, "walk", "N1", "-3")
    _add(session, "walk", "N2", "from n1 down 1 x 6")
    assert _height(session, "N2") == _inch("-9")


def test_a_mark_made_on_site_can_be_counted_from(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.mark(session.state, "KERB", "54"))
    _add(session, "walk", "N1", "from kerb rise 2% over 50")
    assert _height(session, "N1") == _inch("-5")


REFUSED = [
    ("yard", "N1", "-3", "There is no area “yard”; known are terrace, walk, garden. Did you mean “garden”?"),
    ("walk", "1N", "-3", "“1N” could be taken for a reading; begin a point or mark with a letter."),
    ("walk", "", "-3", "A name is empty; give it one that can be painted on a stake."),
    ("walk", "t1", "-3", "There is a point or mark “t1” already; give this one a name of its own."),
    ("walk", "pin", "-3", "There is a point or mark “pin” already; give this one a name of its own."),
    ("walk", "N\u200b1", "-3", "A character in this name can't be seen; type it again."),
    ("walk", "N1", "low", "“low” is not a length; type it like 13 13/16."),
    (
        "walk",
        "N1",
        "at 1 ft, 2 ft",
        "Area “walk” has no surface; say which point to start from: from P4 fall 2% over 12 ft.",
    ),
    ("walk", "N1", "from T9 fall 2% over 1 ft", "There is no point or mark “T9” to start from."),
    ("walk", "N1", "from T1x fall 2% over 1", "There is no point or mark “T1x” to start from. Did you mean “T1”?"),
    ("walk", "N1", "from g1 down 1 x 6", "G1 has another datum; start from a mark, or enter a height."),
    ("walk", "N1", "from T1 fall steep over 1 ft", "“steep” is not a slope; write it like 3/16 in/ft, 2% or 1:48."),
    ("walk", "N1", "from T1 fall 2% over -4", "“-4” must be more than zero; the words give the direction."),
    ("walk", "N1", "from T1 down 1 x 0", "“0” must be more than zero; the words give the direction."),
    ("walk", "N1", "from T1", "Say where it is from T1: from P4 fall 2% over 12 ft, from S3 down 1 x 6 in, "
     "at 6 ft, 7 ft, or -3 1/4."),
]  # fmt: skip


@pytest.mark.parametrize(("area", "name", "how", "says"), REFUSED, ids=[f"{row[1]} {row[2]}" for row in REFUSED])
def test_a_point_that_can_not_be_added_is_refused_in_a_sentence(
    session: Session, area: str, name: str, how: str, says: str
) -> None:
    with pytest.raises(Refusal) as refused:
        session.draft(actions.add_point(session.state, area, name, how))
    assert str(refused.value) == says


def test_what_would_not_stand_in_a_job_file_is_not_taken_for_a_note(session: Session) -> None:
    with pytest.raises(Refusal, match="That can't go in a plan; say what it is in 120 plain characters"):
        session.draft(actions.add_point(session.state, "walk", "N1", "-3", "long " * 40))
    with pytest.raises(Refusal, match="That can't go in a plan"):
        session.draft(actions.add_point(session.state, "walk", "N1", "-3", "a\u200bb"))
    _add(session, "walk", "N1", "-3", "by\n the   wall")
    assert session.plan.areas["walk"].point("N1").what == "by the wall"


# Changing a target or a tolerance ----------------------------------------------------------------------------


def test_a_changed_target_counts_at_every_stage_and_says_why(session: Session) -> None:
    session.record(actions.change_target(session.state, "t1", "-1 1/2", "door sill was measured anew"))
    assert _height(session, "T1") == _inch("-1 1/2")
    assert _height(session, "T1", "subgrade") == _inch("-9 7/8")
    point = session.plan.areas["terrace"].point("T1")
    assert point.working.endswith(", changed on site: door sill was measured anew")
    assert point.on_site


def test_what_the_office_counted_from_it_stays_where_it_was(session: Session) -> None:
    # One target was changed for a reason; nobody asked for the others.
    session.record(actions.change_target(session.state, "T1", "-1 1/2", "door sill"))
    assert _height(session, "W1") == _inch("-7")


@pytest.mark.parametrize(
    ("typed", "high", "low"),
    [
        ("1/4", "1/4", "1/4"),
        ("±1/4", "1/4", "1/4"),
        ("1/2 high 1/4 low", "1/2", "1/4"),
        ("+1/2 -1/4", "1/2", "1/4"),
        ("+0/-1/2", "0", "1/2"),
        ("0", "0", "0"),
    ],
)
def test_a_changed_tolerance_counts_in_its_area_alone(session: Session, typed: str, high: str, low: str) -> None:
    session.record(actions.change_tolerance(session.state, "terrace", "finish", typed, "agreed with the owner"))
    assert session.plan.areas["terrace"].tolerances["finish"] == Tolerance(_inch(high), _inch(low))
    assert session.plan.areas["walk"].tolerances["finish"] == Tolerance(_inch("1/8"), _inch("1/8"))


# Counted from the zero shown -----------------------------------------------------------------------------------


def _shown_from(session: Session, datum: str | None) -> Session:
    session.record(actions.show_datum(session.state, datum))
    return session


def _said(session: Session) -> list[str]:
    return [amendment_line(fact, session.plan.notation, session.state) for fact in session.state.amendments]


KEYED = [
    # the zero shown, a point, what is keyed, its finish from its area's own zero, what is said of it
    ("office", "T1", "1238 1/2", "-1 1/2", "T1 now 1238 1/2 in from office: so"),
    ("office", "G1", "1190", "1190", "G1 now 1190 in from office: so"),
    (None, "T1", "-1 1/2", "-1 1/2", "T1 now -1 1/2 in from the job zero: so"),
    (None, "G1", "-50", "1190", "G1 now -50 in from the job zero: so"),
]


@pytest.mark.parametrize(("datum", "point", "typed", "finish", "says"), KEYED)
def test_a_target_is_keyed_from_the_zero_shown_and_named(
    session: Session, datum: str | None, point: str, typed: str, finish: str, says: str
) -> None:
    _shown_from(session, datum)
    session.record(actions.change_target(session.state, point, typed, "so"))
    assert _height(session, point) == _inch(finish)
    assert _said(session) == [says]


def test_another_zero_shown_later_moves_no_target(session: Session) -> None:
    _shown_from(session, "office")
    session.record(actions.change_target(session.state, "T1", "1238 1/2", "so"))
    _shown_from(session, None)
    assert _height(session, "T1") == _inch("-1 1/2")
    assert _said(session) == ["T1 now -1 1/2 in from the job zero: so"]


def test_an_added_point_is_keyed_from_the_zero_shown(session: Session) -> None:
    _shown_from(session, "office")
    _add(session, "walk", "N1", "1237")
    _add(session, "garden", "N2", "1190")
    _shown_from(session, None)
    _add(session, "garden", "N3", "-50")
    workings = {
        name: session.plan.areas[area].point(name).working
        for area, name in (("walk", "N1"), ("garden", "N2"), ("garden", "N3"))
    }
    assert workings == {
        "N1": "1237 in from office as given on site = −3 in",
        "N2": "1190 in as given on site",
        "N3": "−50 in from the job zero as given on site = 1190 in",
    }
    assert [_height(session, name) for name in workings] == [_inch("-3"), _inch("1190"), _inch("1190")]


def test_a_reading_on_a_target_keyed_from_another_zero_is_within(session: Session) -> None:
    _shown_from(session, "office")
    session.record(actions.change_target(session.state, "W1", "1234", "so"))
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, Surface("walk", "W1", "finish"), "54"))
    verdict = session.state.verdict(Surface("walk", "W1", "finish"))
    assert verdict is not None
    assert verdict.word is Word.ON_GRADE


def test_a_target_whose_areas_zero_is_not_tied_is_not_keyed_from_another(session: Session) -> None:
    _office(session, ("datums: {office:", "datums: {pool: {mark: COPING, reads: 0}, office:"), ("office\n", "pool\n"),
            ("{from: PIN, fall: 2%, over: 50}", "-1"))  # fmt: skip
    with pytest.raises(Refusal, match="The datum “pool” isn't tied in yet: shoot COPING first"):
        session.draft(actions.change_target(session.state, "G1", "-2", "so"))
    with pytest.raises(Refusal, match="The datum “pool” isn't tied in yet: shoot COPING first"):
        session.draft(actions.add_point(session.state, "garden", "N1", "-2"))


def _target(point: str, typed: str, why: str) -> Callable[[Session], Draft]:
    return lambda session: session.draft(actions.change_target(session.state, point, typed, why))


def _tolerance(area: str, stage: str, typed: str, why: str) -> Callable[[Session], Draft]:
    return lambda session: session.draft(actions.change_tolerance(session.state, area, stage, typed, why))


WRONG = [
    (_target("T1", "-3", " "), "Changing a target needs a reason; say why."),
    (_target("T9", "-3", "so"), "There is no point “T9” in this job."),
    (_target("DOOR", "-3", "so"), "There is no point “DOOR” in this job."),
    (_target("T1", "low", "so"), "“low” is not a length; type it like 13 13/16."),
    (_tolerance("walk", "finish", "1/4", ""), "Changing a tolerance needs a reason; say why."),
    (_tolerance("walk", "base", "1/4", "so"), "Area “walk” has no stage “base”; it has finish."),
    (_tolerance("lawn", "finish", "1/4", "so"), "There is no area “lawn”; known are terrace, walk, garden."),
    (_tolerance("walk", "finish", "-1/4", "so"), "A tolerance is written without a minus: 3/8, or 1/2 high 1/4 low."),
    (
        _tolerance("walk", "finish", "1/2 high -1/4 low", "so"),
        "A tolerance is written without a minus: 3/8, or 1/2 high 1/4 low.",
    ),
    (
        _tolerance("walk", "finish", "+1/4", "so"),
        "“+1/4” is not a tolerance; write 3/8, +1/2 -3/8, or write 1/2 high 1/4 low.",
    ),
    (
        _tolerance("walk", "finish", "10 -1/2", "so"),
        "“10 -1/2” has a space beside its hyphen; type it like 3-1/2 or 3 1/2; or write 1/2 high 1/4 low.",
    ),
]


@pytest.mark.parametrize(("change", "says"), WRONG, ids=[row[1] for row in WRONG])
def test_changes_without_a_reason_or_of_nothing_are_refused(
    session: Session, change: Callable[[Session], Draft], says: str
) -> None:
    with pytest.raises(Refusal) as refused:
        change(session)
    assert str(refused.value) == says
    assert session.journal.last_seq == 0


# Struck, seen by others, kept ---------------------------------------------------------------------------------


def test_what_is_struck_counts_no_more_and_what_was_before_stands_again(session: Session) -> None:
    added = _add(session, "walk", "N1", "-3")
    first = session.record(actions.change_target(session.state, "T1", "-2", "once")).id
    second = session.record(actions.change_target(session.state, "T1", "-3", "twice")).id
    tolerance = session.record(actions.change_tolerance(session.state, "walk", "finish", "1", "rough")).id
    assert _height(session, "T1") == _inch("-3")
    session.record(session.strike(second, "a slip"))
    assert _height(session, "T1") == _inch("-2")
    for entry in (first, added, tolerance):
        session.record(session.strike(entry, "a slip"))
    assert session.plan == session.loaded.plan
    assert session.state.amendments == []


def test_another_window_sees_them_and_so_does_the_next_start(window: Callable[[], Session]) -> None:
    one, other = window(), window()
    _add(one, "walk", "N1", "-3")
    one.record(actions.change_tolerance(one.state, "walk", "finish", "1", "rough"))
    other.catch_up()
    assert other.plan == one.plan == window().plan


def _office(session: Session, *changes: tuple[str, str]) -> None:
    """The office sends another job file, and the foreman takes it over."""
    text = (session.folder / "job.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (session.folder / "job.yaml").write_text(text + "# revised\n", encoding="utf-8")
    assert session.plan_file.refresh()
    session.record(session.accept_plan())


def test_they_survive_a_plan_that_is_taken_over(session: Session) -> None:
    _add(session, "walk", "N1", "-3")
    session.record(actions.change_target(session.state, "T1", "-2", "once"))
    session.record(actions.change_tolerance(session.state, "walk", "finish", "1", "rough"))
    _office(session, ("T2: {at: [10 ft, 0]", "T2: {at: [20 ft, 0]"))
    assert _height(session, "T2") == _inch("-4.8")
    assert (_height(session, "N1"), _height(session, "T1")) == (_inch("-3"), _inch("-2"))
    assert session.plan.areas["walk"].tolerances["finish"].high == _inch("1")


def test_where_the_office_drew_the_point_itself_its_own_counts(session: Session) -> None:
    _add(session, "walk", "N1", "-3")
    _office(session, ("      W1:", "      N1: -4\n      W1:"))
    assert _height(session, "N1") == _inch("-4")
    assert [point.name for point in session.plan.areas["walk"].points] == ["N1", "W1"]


def test_what_speaks_of_an_area_or_a_stage_that_is_gone_changes_nothing(session: Session) -> None:
    _add(session, "garden", "N1", "1190")
    session.record(actions.change_target(session.state, "G1", "1190", "so"))
    session.record(actions.change_tolerance(session.state, "terrace", "base", "1", "rough"))
    garden = JOB[JOB.index("  garden:") :]
    _office(session, (garden, ""), ("[{paver: 2 3/8}, {base: 6}]", "[{paver: 8 3/8}]"), ("base: 3/8, ", ""))
    assert session.plan.area_of == {"T1": "terrace", "T2": "terrace", "W1": "walk"}
    assert session.plan == session.loaded.plan
    assert plan_text(session.state.amendments, session.plan) == "# Nothing was added or changed on site.\n"


# A point made from another moves with it ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("area", "how", "moves"),
    [
        ("terrace", "from T1 fall 2% over 10 ft", "T1"),
        ("walk", "from W1 down 2 x 6 in", "W1"),
        ("terrace", "from DOOR rise 1/8 in/ft over 8 ft", ""),
        ("terrace", "-3 1/4", ""),
    ],
)
def test_a_point_made_on_site_from_another_keeps_its_relation(
    session: Session, area: str, how: str, moves: str
) -> None:
    _add(session, area, "N1", how)
    _add(session, area, "N2", "from N1 fall 1 in/ft over 2 ft")
    before = _height(session, "N1")
    # W1 is on datum T1 in the plan, so both go 3/4 in down with it.
    _office(session, ("fall: 1/4 in/ft, over: 4 ft", "fall: 7/16 in/ft, over: 4 ft"))
    moved = before - (_inch("3/4") if moves else _inch("0"))
    assert (_height(session, "N1"), _height(session, "N2")) == (moved, moved - _inch("2"))
    [told, _] = [amendment_line(fact, session.plan.notation, session.state) for fact in session.state.amendments]
    assert (f"; moved with {moves} to " in told) == bool(moves)


def test_it_moves_with_a_changed_target_until_it_has_its_own(session: Session) -> None:
    _add(session, "terrace", "N1", "from T1 fall 2% over 10 ft")
    session.record(actions.change_target(session.state, "T1", "-2", "door sill"))
    assert _height(session, "N1") == _inch("-4.4")
    session.record(actions.change_target(session.state, "N1", "-5", "as it is"))
    session.record(actions.change_target(session.state, "T1", "-1", "back again"))
    assert _height(session, "N1") == _inch("-5")


def test_a_point_on_the_surface_moves_with_the_surface(session: Session) -> None:
    _add(session, "terrace", "N1", "at 10 ft, 5 ft")  # 2% of 120 in and 1% of 60 in below the door
    assert _height(session, "N1") == _inch("-3")
    _office(session, ("y: 1%", "y: 2%"))
    assert _height(session, "N1") == _inch("-3.6")


def test_a_point_of_an_older_journal_stays_where_it_is(session: Session) -> None:
    older = '{"area":"walk","point":"N1","finish":"-1/8","working":"W1 …","what":"","at":null}'
    fact = decode(PointAdded, older)
    assert fact == PointAdded("walk", "N1", Elevation(Fraction(-1, 8)), "W1 …")
    moved = amended(session.plan, [fact, TargetChanged("walk", "W1", Elevation(Fraction(-1)), "so")])
    assert moved.areas["walk"].point("N1").finish == fact.finish


# Back to the office -------------------------------------------------------------------------------------------


def _as_text(text: str) -> Any:
    """The entries of a job file, every value the text it is written as."""
    tree, problems = read_yaml(text, "job.yaml")
    assert not problems
    return json.loads(json.dumps(tree))


def _merged(job: str, text: str) -> str:
    """The job file with what was written out on site merged into it, entry by entry, as the office does it."""
    office = _as_text(job)
    for name, area in _as_text(text)["areas"].items():
        for kind, entries in area.items():
            office["areas"][name].setdefault(kind, {}).update(entries)
    return json.dumps(office, ensure_ascii=False)  # JSON is YAML too


def _targets(plan: Plan) -> dict[tuple[str, str, str], tuple[Length, Tolerance]]:
    return {
        (area.name, point.name, stage): (
            target(area, point, stage).wanted.height,
            target(area, point, stage).tolerance,
        )
        for area in plan.areas.values()
        for point in area.points
        for stage in area.stages
    }


def test_written_out_and_merged_it_gives_the_same_targets_places_and_notes(session: Session) -> None:
    _add(session, "terrace", "N1", "at 10 ft, 5 ft", "it's by the wall: left")
    _add(session, "walk", "N2", "from W1 fall 2% over 50")
    session.record(actions.change_target(session.state, "T2", "-2 1/2", "pear tree stays"))
    session.record(actions.change_target(session.state, "N1", "-3 1/8", "as it is"))
    session.record(actions.change_tolerance(session.state, "terrace", "subgrade", "1 high 1/2 low", "clay"))
    text = plan_text(session.state.amendments, session.plan)
    merged = read_plan(_merged(JOB, text), "job.yaml")
    assert _targets(merged) == _targets(session.plan)
    for area in session.plan.areas.values():
        for point in area.points:
            found = merged.areas[area.name].point(point.name)
            assert (found.at, found.what) == (point.at, point.what)


def test_it_is_written_so_that_the_office_reads_what_and_why(session: Session) -> None:
    _add(session, "terrace", "N1", "at 10 ft, 5 ft", "it's by the wall")
    session.record(actions.change_target(session.state, "T2", "-2 1/2", "pear tree stays"))
    session.record(actions.change_tolerance(session.state, "terrace", "subgrade", "1 high 1/2 low", "clay"))
    assert plan_text(session.state.amendments, session.plan) == (
        "# Added and changed on site; paste each area's lines under that area of the job file.\n"
        "areas:\n"
        "  terrace:\n"
        "    tolerances:\n"
        "      subgrade: {high: 1 in, low: 1/2 in}  # clay\n"
        "    added:\n"
        "      N1: {elevation: -3 in, at: [120 in, 60 in], what: 'it''s by the wall'}  # plane through DOOR = −3 in\n"
        "    instead:\n"
        "      T2: -2 1/2 in  # pear tree stays\n"
    )


lengths = st.one_of(
    st.integers(-900, 900).map(lambda number: inches(Fraction(number, 16))),
    st.integers(-9000, 9000).map(lambda number: millimetres(Fraction(number, 10))),
    st.fractions(-9, 9, max_denominator=7000).map(Length),
)
notes = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.sampled_from(" '\"#:,{}[]&*!|>%@-"), max_size=40
)


@st.composite
def on_site(draw: st.DrawFn) -> list[Amendment]:
    """Points added to areas, targets and tolerances changed, in any order; some more than once."""
    found: list[Amendment] = []
    added: list[tuple[str, str]] = [("terrace", "T1"), ("terrace", "T2"), ("walk", "W1"), ("garden", "G1")]
    for number in range(draw(st.integers(1, 8))):
        z, why = Elevation(draw(lengths).metres), draw(notes).strip() or "so"
        area, point = draw(st.sampled_from(added))
        match draw(st.sampled_from(["add", "move", "tolerance"])):
            case "add":
                at = draw(st.none() | st.tuples(lengths, lengths))
                found.append(PointAdded(area, f"N{number}", z, "worked", one_form(" ".join(draw(notes).split())), at))
                added.append((area, f"N{number}"))
            case "move":
                found.append(TargetChanged(area, point, z, why))
            case _:
                stage = draw(st.sampled_from(["finish", "subgrade"])) if area == "terrace" else "finish"
                found.append(ToleranceChanged(area, stage, abs(draw(lengths)), abs(draw(lengths)), why))
    return found


@pytest.mark.parametrize("units", some(Units, [Units.IN, Units.MM]))
@given(facts=on_site())
@examples(25)
def test_whatever_was_changed_on_site_comes_back_the_same_to_six_decimals(
    units: Units, facts: list[Amendment]
) -> None:
    job = (
        JOB.replace("units: in", f"units: {units.value}")
        .replace("over: 50}", "over: 50 in}")
        .replace("riser: 6}", "riser: 6 in}")
    )
    plan = read_plan(job, "job.yaml")
    wanted = amended(plan, facts)
    merged = read_plan(_merged(job, plan_text(facts, wanted)), "job.yaml")
    written = max(units.one.metres, inches(1).metres) / 2_000_000
    theirs, ours = _targets(merged), _targets(wanted)
    assert theirs.keys() == ours.keys()
    for surface, (height, tolerance) in ours.items():
        found, allowed = theirs[surface]
        for one, other in [(found, height), (allowed.high, tolerance.high), (allowed.low, tolerance.low)]:
            assert abs((one - other).metres) <= written, surface
    for area in wanted.areas.values():
        for point in area.points:
            assert merged.areas[area.name].point(point.name).what == point.what
