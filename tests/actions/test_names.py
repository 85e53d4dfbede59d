"""A name keyed on site means the one that is there, in whatever capitals; there are never two that differ by them."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import SignedOff
from gradecheck.measure.quantities import inches
from gradecheck.plan.names import as_known
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface
from tests.strategies import in_other_capitals

JOB = """\
job: Dunnock Lane
units: in
benchmarks: {DOOR: 0}
rods: {site rod: {}, other rod: {}}
datums: {pool: {mark: COPING, reads: 0}, OFFICE: {mark: DOOR, reads: 100}}
layout: {Corner: {sides: [24 ft, 20 ft]}}
tolerances: {finish: 1/8}
areas:
  walk:
    points: {W1: -3}
"""


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """The instrument stands, its plane 48 above DOOR."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as opened:
        opened.record(actions.set_up(opened.state, "DOOR", "48"))
        yield opened


def test_a_turning_point_taken_anew_in_small_letters_is_the_same_mark(
    session: Session,
) -> None:
    session.record(actions.mark(session.state, "TP1", "60"))
    session.record(actions.mark(session.state, "tp1", "50"))
    assert session.state.book.marks() == ["DOOR", "TP1"]
    session.record(actions.moved(session.state, "spoil"))
    session.record(actions.set_up(session.state, "tp1", "40"))
    assert session.state.setup is not None
    assert session.state.setup.instrument is not None
    assert session.state.setup.instrument.zero.height == inches(38)


def test_a_mark_is_asked_for_by_its_name_as_it_was_first_spelt(session: Session) -> None:
    session.record(actions.mark(session.state, "Kerb é", "50"))
    assert [actions.new_mark_name(session.state, typed) for typed in ("kerb É", " KERB e\u0301 ", "Kerb é")] == [
        "Kerb é"
    ] * 3
    session.record(actions.moved(session.state, "spoil"))
    [backsight] = session.record(actions.set_up(session.state, "kerb e\u0301", "40")).fact.backsights  # type: ignore[union-attr]
    assert backsight.mark == "Kerb é"


def test_names_that_differ_by_capitals_are_found_as_spelled() -> None:
    # Journals written before were able to hold both.
    known = ["TP1", "tp1"]
    assert [as_known(typed, known) for typed in ("TP1", "tp1", "Tp1", "TP2")] == ["TP1", "tp1", "TP1", None]


def test_a_point_added_on_site_takes_no_name_of_a_mark_in_any_capitals(session: Session) -> None:
    session.record(actions.mark(session.state, "TP1", "60"))
    for name in ("tp1", "Door", "coping"):  # the last is shot later, to tie its datum
        with pytest.raises(Refusal, match=f"There is a point or mark “{name}” already"):
            session.draft(actions.add_point(session.state, "walk", name, "-3"))
    session.record(actions.add_point(session.state, "walk", "N1", "from tp1 down 1 x 6"))
    assert session.plan.areas["walk"].point("N1").finish.height == inches(-18)


def test_a_name_offered_for_a_new_mark_is_free_whatever_its_capitals(session: Session) -> None:
    assert actions.next_mark_name(session.state) == "COPING"
    session.record(actions.mark(session.state, "coping", "44"))
    for taken, offered in (("tp1", "TP2"), ("Tp2", "TP3")):
        session.record(actions.mark(session.state, taken, "60"))
        assert actions.next_mark_name(session.state) == offered


@settings(max_examples=12)  # each is a journal on a disk
@given(shot=st.lists(in_other_capitals("TP1") | in_other_capitals("TP2") | in_other_capitals("Kerb"), max_size=4))
def test_a_mark_shot_in_other_capitals_is_asked_about_and_no_second_one(shot: list[str]) -> None:
    with tempfile.TemporaryDirectory() as named:
        folder = Path(named)
        (folder / "job.yaml").write_text(JOB, encoding="utf-8")
        with closing(Session(folder, by="RK")) as session:
            session.record(actions.set_up(session.state, "DOOR", "48"))
            seen: dict[str, str] = {}
            for number, name in enumerate(shot):
                asked = actions.mark_question(session.state, name)
                assert (asked is not None) == (name.casefold() in seen)
                assert asked is None or asked.startswith(seen[name.casefold()])
                seen.setdefault(name.casefold(), name)
                session.record(actions.mark(session.state, name, str(50 + number)))
            assert session.state.book.marks() == ["DOOR", *seen.values()]
            assert actions.next_mark_name(session.state) == "COPING"


@pytest.mark.parametrize(
    ("asked", "answer"),
    [
        pytest.param(
            lambda s: s.draft(actions.set_up(s.state, "door", "48", "SITE rod")).fact.rod, "site rod", id="rod"
        ),
        pytest.param(lambda s: s.draft(actions.add_point(s.state, "WALK", "N1", "-3")).fact.area, "walk", id="area"),
        pytest.param(
            lambda s: s.draft(actions.change_target(s.state, "w1", "-4", "wet")).fact.point, "W1", id="point"
        ),
        pytest.param(
            lambda s: s.draft(actions.change_tolerance(s.state, "Walk", "FINISH", "1/4", "wet")).fact.stage,
            "finish",
            id="stage",
        ),
        pytest.param(
            lambda s: s.draft(actions.gauge(s.state, "lippage", "WALK", "by W1", "1/16")).fact.area,
            "walk",
            id="gauge",
        ),
        pytest.param(
            lambda s: s.draft(actions.tape(s.state, "corner", "a", "B", "24'")).fact.layout,
            "Corner",
            id="layout check",
        ),
        pytest.param(lambda s: s.draft(actions.recheck(s.state, "Door", "48")).fact.mark, "DOOR", id="mark"),
        pytest.param(
            lambda s: s.draft(actions.give_mark(s.state, "dOOR", "1", has_moved=True, why="hit")).fact.mark,
            "DOOR",
            id="given",
        ),
        pytest.param(lambda s: s.draft(actions.show_datum(s.state, "Office")).fact.datum, "OFFICE", id="datum"),
        pytest.param(lambda s: s.name_of("w1"), "W1", id="name"),
    ],
)
def test_whatever_is_named_is_found_in_any_capitals_and_kept_as_written(
    session: Session, asked: Callable[[Session], str], answer: str
) -> None:
    assert asked(session) == answer


def test_a_stage_is_signed_in_any_capitals_with_its_own_points(session: Session) -> None:
    session.record(actions.reading(session.state, Surface("walk", "W1", "finish"), "48"))
    with pytest.raises(Refusal, match="There is no point “W9” in walk to accept"):
        session.draft(actions.sign_off(session.state, "walk", "finish", ["W1", "W9"]))
    asked = questions(session.state, "walk", "finish")
    fact = session.record(actions.sign_off(session.state, "Walk", "Finish", ["w1"], asked=asked)).fact
    assert isinstance(fact, SignedOff)
    assert (fact.area, fact.stage, fact.accepted) == ("walk", "finish", ("W1",))
