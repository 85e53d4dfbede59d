"""A sign-off is the last one made, and what changed behind it is told: out, unread, in doubt, not to be judged."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given

from gradecheck import actions
from gradecheck.journal.facts import Draft, Entry
from gradecheck.journal.stamps import day_of
from gradecheck.report import review
from gradecheck.report.review import (
    Chosen,
    rechecks_line,
    signed_text,
    stage_rows,
    still_open,
    trend_in_steps,
    trend_lines,
)
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import fold
from tests.journal_strategies import JOB, PLAN, days
from tests.report.day import Site
from tests.strategies import examples

YARD = ("yard", "base")


@pytest.fixture
def site(tmp_path: Path) -> Site:
    """The base of the yard read at its four points, Y2 half an inch high, signed by RK who accepts that."""
    site = Site(tmp_path)
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    for point, rod in (("Y1", "53-3/8"), ("Y2", "52-7/8"), ("Y3", "55-7/8"), ("Y4", "55-7/8")):
        site.read(point, rod)
    sign(site, "RK", "Y2")
    return site


def sign(site: Site, initials: str, *accepted: str) -> None:
    """Signs the base off."""
    site.session.identify(initials)
    site.session.record(
        actions.sign_off(site.session.state, *YARD, accepted, asked=questions(site.session.state, *YARD))
    )


def said(site: Site) -> tuple[str, bool]:
    """Who signed, and what follows the time; whether it is told among what is still open."""
    who, _, changed = signed_text(site.session.state, *YARD).partition(" 12 May ")
    return f"{who}{changed[5:]}", any("changed since" in line for line in still_open(site.session.state))


def test_a_stage_that_is_as_it_was_signed_says_who_signed_it(site: Site) -> None:
    assert said(site) == ("RK", False)


def test_the_second_sign_off_is_the_one_that_counts(site: Site) -> None:
    site.read("Y2", "53-3/8")
    sign(site, "MT")
    assert said(site) == ("MT", False)
    site.read("Y2", "52-7/8")  # RK accepted it so, MT did not
    assert said(site) == ("MT, changed since", True)


@pytest.mark.parametrize(
    ("point", "rod", "changed"),
    [("Y1", "53-1/4", False), ("Y1", "52-7/8", True), ("Y2", "52-13/16", False)],
    ids=["still on grade", "out now", "out as was accepted"],
)
def test_a_reading_behind_the_sign_off_changes_it_where_more_is_out(
    site: Site, point: str, rod: str, changed: bool
) -> None:
    site.read(point, rod)
    assert said(site) == ("RK, changed since" if changed else "RK", changed)


def test_doubt_that_comes_behind_the_sign_off_is_told(site: Site) -> None:
    site.session.record(actions.recheck(site.session.state, "DOOR", "50-3/8"))
    assert said(site) == ("RK, changed since", True)
    site.session.record(actions.answer_doubt(site.session.state, "the rod stood on a stone"))
    assert said(site) == ("RK", False)


def test_a_reading_struck_behind_the_sign_off_is_unread_and_told(site: Site) -> None:
    last = site.session.last_reading()
    assert last is not None
    site.session.record(site.session.strike(last.id, "wrong stake"))
    assert said(site) == ("RK, changed since", True)


@given(days())
def test_step_by_step_the_trend_is_what_it_is_at_once(entries: list[Entry]) -> None:
    state, ended = fold(PLAN, entries), list[list[str]]()

    def to_the_end() -> Iterator[str]:
        ended.append((yield from trend_in_steps(state)))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(review, "LOOKS_A_STEP", 0)
        told = list(to_the_end())
    assert ended == [trend_lines(state)]
    assert told == [f"{number} of {len(state.shots)}" for number in range(1, len(state.shots) + 1)]


@examples(40)
@given(days())
def test_a_review_of_what_it_counts_is_that_of_the_whole_log(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry]
) -> None:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder, by="RK")
    try:
        fields = [{each.name: getattr(entry, each.name) for each in dataclasses.fields(Draft)} for entry in entries]
        session.adopt(session.journal.append([Draft(**each) for each in fields]))
        whole, counted, state = session.all_lines(), session.review_lines(), session.state
        days_known = sorted({day_of(line.entry.at, line.entry.offset) for line in whole})
        people = sorted({line.entry.by for line in whole})
        assert session.days_and_people() == (days_known, people)
        for chosen in (Chosen(), *(Chosen(day=day) for day in days_known), *(Chosen(by=who) for who in people)):
            assert stage_rows(state, counted, chosen) == stage_rows(state, whole, chosen)
            assert rechecks_line(state, counted, chosen) == rechecks_line(state, whole, chosen)
    finally:
        session.close()
