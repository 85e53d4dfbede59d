"""What of a stage is not as it should be, each point once: out, unread, in doubt or not to be judged; who signed."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.measure.quantities import Elevation, inches
from gradecheck.state.built import Exceptions, differences, exceptions, found_heights
from gradecheck.state.signing import questions
from tests.report.day import Site

YARD = ("yard", "base")


@pytest.fixture
def site(tmp_path: Path) -> Site:
    """The base of the yard: Y1 as wanted, Y2 half an inch high, Y4 not read; the plane lies at 50."""
    site = Site(tmp_path)
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    for point, rod in (("Y1", "53-3/8"), ("Y2", "52-7/8"), ("Y3", "55-7/8")):
        site.read(point, rod)
    return site


def test_what_is_out_and_what_nobody_read_is_told_apart(site: Site) -> None:
    assert exceptions(site.session.state, *YARD) == Exceptions(("Y2",), ("Y4",), (), ())
    assert list(found_heights(site.session.state, *YARD)) == ["Y1", "Y2", "Y3"]
    off = [each.difference for each in differences(site.session.state, *YARD)]
    assert off == [inches(0), inches(Fraction(1, 2)), inches(0)]


def test_what_is_in_doubt_is_neither_out_nor_built(site: Site) -> None:
    site.session.record(actions.recheck(site.session.state, "DOOR", "50-3/8"))
    assert exceptions(site.session.state, *YARD) == Exceptions((), ("Y4",), ("Y1", "Y2", "Y3"), ())
    assert found_heights(site.session.state, *YARD) == {}
    site.session.record(actions.answer_doubt(site.session.state, "the rod stood on a stone"))
    assert exceptions(site.session.state, *YARD) == Exceptions(("Y2",), ("Y4",), (), ())
    assert found_heights(site.session.state, *YARD)["Y2"] == Elevation(inches(Fraction(-23, 8)).metres)


def test_what_has_no_height_any_more_can_not_be_judged(site: Site) -> None:
    stood = site.session.state.setup
    assert stood is not None
    site.session.record(site.session.strike(stood.id, "on the wrong mark"))
    assert exceptions(site.session.state, *YARD) == Exceptions((), ("Y4",), (), ("Y1", "Y2", "Y3"))


def test_of_several_sign_offs_the_last_counts_for_its_own_stage_alone(site: Site) -> None:
    assert site.session.state.record.signed(*YARD) is None
    for initials in ("RK", "MT"):
        site.session.identify(initials)
        site.session.record(
            actions.sign_off(site.session.state, *YARD, ["Y2", "Y4"], asked=questions(site.session.state, *YARD))
        )
    kept = site.session.state.record.signed(*YARD)
    assert kept is not None
    assert (kept.by, kept.fact.accepted, kept.fact.unread) == ("MT", ("Y2",), ("Y4",))
    assert site.session.state.record.signed("yard", "finish") is None
    site.session.record(site.session.strike(kept.id, "too early"))
    kept = site.session.state.record.signed(*YARD)
    assert kept is not None
    assert kept.by == "RK"
