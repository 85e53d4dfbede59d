"""A name keyed on site means the one that is there, in whatever capitals; there are never two that differ by them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from gradecheck.intake import Refusal
from gradecheck.intake.names import as_known
from gradecheck.measure.quantities import inches
from gradecheck.session.session import Session

JOB = """\
job: Dunnock Lane
units: in
benchmarks: {DOOR: 0}
datums: {pool: {mark: COPING, reads: 0}}
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
        opened.record(opened.set_up("DOOR", "48"))
        yield opened


def test_a_turning_point_taken_anew_in_small_letters_is_the_same_mark_and_its_new_elevation_counts(
    session: Session,
) -> None:
    session.record(session.mark("TP1", "60"))
    session.record(session.mark("tp1", "50"))
    assert session.state.book.marks() == ["DOOR", "TP1"]
    session.record(session.moved("spoil"))
    session.record(session.set_up("tp1", "40"))
    assert session.state.setup is not None
    assert session.state.setup.instrument is not None
    assert session.state.setup.instrument.zero.height == inches(38)


def test_a_mark_is_asked_for_by_its_name_as_it_was_first_spelt(session: Session) -> None:
    session.record(session.mark("Kerb é", "50"))
    assert [session.new_mark_name(typed) for typed in ("kerb É", " KERB e\u0301 ", "Kerb é")] == ["Kerb é"] * 3
    session.record(session.moved("spoil"))
    [backsight] = session.record(session.set_up("kerb e\u0301", "40")).fact.backsights  # type: ignore[union-attr]
    assert backsight.mark == "Kerb é"


def test_of_two_names_that_differ_by_capitals_alone_each_is_found_by_its_own_spelling() -> None:
    # Journals written before were able to hold both.
    known = ["TP1", "tp1"]
    assert [as_known(typed, known) for typed in ("TP1", "tp1", "Tp1", "TP2")] == ["TP1", "tp1", "TP1", None]


def test_a_point_added_on_site_takes_no_name_of_a_mark_in_any_capitals(session: Session) -> None:
    session.record(session.mark("TP1", "60"))
    for name in ("tp1", "Door", "coping"):  # the last is shot later, to tie its datum
        with pytest.raises(Refusal, match=f"There is a point or mark “{name}” already"):
            session.add_point("walk", name, "-3")
    session.record(session.add_point("walk", "N1", "from tp1 down 1 x 6"))
    assert session.plan.areas["walk"].point("N1").finish.height == inches(-18)
