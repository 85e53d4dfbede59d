"""What is made on site is told apart by the laptop that made it, and a name means what its author meant by it."""

from __future__ import annotations

import itertools

import pytest

from gradecheck.joining.log import JoinedLog
from gradecheck.joining.names import called, identity
from gradecheck.journal.facts import Entry, MarkMade, Note, PointAdded, Reading, SetupMade, Void
from gradecheck.measure.quantities import Elevation, inches
from tests.joining.days import _JUDGED, _setup
from tests.joining.laptops import Laptop, joined_rows
from tests.joining.test_state import found_in, joined

ID = "3f0c1a52-8c1b-4d53-9d0e-2b6a7c9e1f04"


@pytest.mark.parametrize(
    ("laptop", "is_called", "which"),
    [
        (f"north crew/{ID}", "north crew", ID),
        (ID, "laptop 3f0c1a", ID),
        ("north", "north", "north"),
        ("", "unnamed", ""),
        (f"/{ID}", "unnamed", ID),
        (f"a\x1b[31m\n/{ID}", "a[31m", ID),
        (f"{'n' * 99}/{ID}", "n" * 20, ID),
        ("a/b/c", "a", "b/c"),
    ],
)
def test_a_laptop_is_called_by_its_name_or_by_the_beginning_of_its_id(
    laptop: str, is_called: str, which: str
) -> None:
    assert called(laptop) == is_called
    assert identity(laptop) == which


def _three() -> tuple[Laptop, Laptop, Laptop]:
    """Three that went on from one copy with a setup; two of them have the same name."""
    first = Laptop("west", 0)
    first.write(0, "begin", _setup("DOOR", inches(50)))
    others = [Laptop("crew/1", 0), Laptop("crew/2", 0)]
    for other in others:
        other.own = list(first.own)
    return first, others[0], others[1]


def _log(*laptops: Laptop) -> JoinedLog:
    rows = {digest: row for laptop in laptops for digest, row in laptop.all.items()}
    return JoinedLog(joined_rows(rows.values()), laptops[0].own[-1][-1])


def _entry(log: JoinedLog, entry_id: str) -> Entry:
    entry = log.find(entry_id)
    assert entry is not None
    return entry


@pytest.mark.parametrize("late", [5, 30])
def test_tp1_of_a_crew_stays_when_another_of_that_name_turns_up(late: int) -> None:
    west, one, two = _three()
    one.write(10, "made by one", MarkMade("TP1", "", "begin", inches(45)))
    two.write(late, "made by two", MarkMade("TP1", "", "begin", inches(40)))
    west.take(one)
    west.write(20, "on it", _setup("TP1 of crew", inches(30)))
    alone, log = _log(west), _log(west, two)
    made, setup = _entry(log, "made by one").fact, _entry(log, "on it").fact
    assert isinstance(made, MarkMade)
    assert isinstance(setup, SetupMade)
    assert [sight.mark for sight in setup.backsights] == [made.mark]
    known = _entry(alone, "made by one").fact
    assert isinstance(known, MarkMade)
    assert known.mark == "TP1 of crew"
    other = _entry(log, "made by two").fact
    assert isinstance(other, MarkMade)
    assert other.mark != made.mark
    assert sorted([made.mark, other.mark])[0] == "TP1 of crew"


def test_by_its_full_name_each_of_two_alike_is_meant() -> None:
    west, one, two = _three()
    one.write(10, "made by one", MarkMade("TP1", "", "begin", inches(45)))
    two.write(11, "made by two", MarkMade("TP1", "", "begin", inches(40)))
    west.take(one)
    west.take(two)
    for at, entry_id in enumerate(("made by one", "made by two")):
        full = f"TP1 of crew ({_entry(_log(west), entry_id).hash[:6]})"
        west.write(20 + at, f"on {entry_id}", _setup(full, inches(30)))
        made, setup = _entry(_log(west), entry_id).fact, _entry(_log(west), f"on {entry_id}").fact
        assert isinstance(made, MarkMade)
        assert isinstance(setup, SetupMade)
        assert [sight.mark for sight in setup.backsights] == [made.mark]


def test_a_reading_stays_at_its_point_when_a_third_adds_another() -> None:
    west, one, two = _three()

    def added(finish: int) -> PointAdded:
        return PointAdded("walk", "W9", Elevation(inches(finish).metres), "")

    one.write(10, "added by one", added(-3))
    west.take(one)
    west.write(20, "read", Reading("walk", "W9", "finish", "begin", inches(53), _JUDGED))
    two.write(15, "added by two", added(-4))
    for order in itertools.permutations((west, one, two)):
        log = JoinedLog(joined_rows({digest: row for each in order for digest, row in each.all.items()}.values()))
        read, point = _entry(log, "read").fact, _entry(log, "added by one").fact
        assert isinstance(read, Reading)
        assert isinstance(point, PointAdded)
        assert read.point == point.point


def _mark_of(log: JoinedLog, entry_id: str) -> str:
    fact = _entry(log, entry_id).fact
    if isinstance(fact, SetupMade):
        return fact.backsights[0].mark
    assert isinstance(fact, MarkMade)
    return fact.mark


def _parted() -> tuple[Laptop, Laptop, Laptop]:
    """A and B went on from one copy that holds TP1, and A made TP1 anew since; C has the plan alone."""
    a, b, c = Laptop("A", 0), Laptop("B", 0), Laptop("C", 0)
    a.write(0, "begin", _setup("DOOR", inches(50)))
    a.write(1, "common", MarkMade("TP1", "", "begin", inches(45)))
    b.own = list(a.own)
    a.write(2, "anew", MarkMade("TP1", "", "begin", inches(40)))
    b.write(3, "b goes on", Note(None, "walk staked"))
    return a, b, c


@pytest.mark.parametrize("viewer", ["A", "B", "C"])
def test_tp1_of_a_stays_when_a_laptop_with_the_plan_alone_comes(viewer: str) -> None:
    a, b, c = _parted()
    b.take(a)
    b.write(4, "on it", _setup("TP1 of A", inches(30)))  # for B plain TP1 is the common one, this is A's
    c.write(5, "c begins", _setup("STEP", inches(31)))
    crews = {"A": a, "B": b, "C": c}
    log = _log(crews.pop(viewer), *crews.values())
    assert _mark_of(log, "on it") == _mark_of(log, "anew")
    assert _mark_of(log, "common") == "TP1 of A"  # for C it is another's from now on
    assert _mark_of(log, "anew").startswith("TP1 of A (")


def test_with_the_plan_alone_tp1_of_a_is_the_first_of_two() -> None:
    a, b, c = _parted()
    c.take(a)
    c.take(b)
    c.write(5, "on the first", _setup("TP1 of A", inches(30)))
    made = a.own[2][-1]
    c.write(6, "on the other", _setup(f"TP1 of A ({made[:6]})", inches(30)))
    log = _log(a, b, c)
    assert _mark_of(log, "on the first") == _mark_of(log, "common")
    assert _mark_of(log, "on the other") == _mark_of(log, "anew")


def test_with_one_chain_known_tp1_of_a_is_the_one_made_anew() -> None:
    a, b, c = _parted()
    c.take(a)
    c.write(5, "on it", _setup("TP1 of A", inches(30)))
    assert _mark_of(_log(a, b, c), "on it") == _mark_of(_log(a, b, c), "anew")


def test_made_anew_on_a_copy_it_has_the_first_s_name_until_they_part() -> None:
    a, c = Laptop("A", 0), Laptop("C", 0)
    a.write(0, "begin", _setup("DOOR", inches(50)))
    a.write(1, "first", MarkMade("TP1", "", "begin", inches(45)))
    b = Laptop("B", 0)
    b.own = list(a.own)
    b.write(2, "anew", MarkMade("TP1", "", "begin", inches(40)))
    c.take(b)
    c.write(5, "on it", _setup("TP1 of A", inches(30)))
    assert _mark_of(_log(c), "on it") == _mark_of(_log(c), "anew") == "TP1 of A"
    a.write(6, "a goes on", Note(None, "walk staked"))
    log = _log(a, b, c)
    assert _mark_of(log, "on it") == _mark_of(log, "anew") == "TP1 of B"
    assert _mark_of(log, "first") == "TP1 of A"


def test_a_copy_without_entries_never_reaches_the_other_s_new_tp1() -> None:
    a, b, c = _parted()
    b.own = b.own[:2]
    b.take(a)
    c.write(5, "c begins", _setup("STEP", inches(31)))
    b.take(c)
    assert _log(b).own_name("TP1") == _mark_of(_log(b), "common")
    assert _mark_of(_log(b), "common") != _mark_of(_log(b), "anew")


def test_a_correction_stays_at_its_mark_whatever_that_is_called_by_now() -> None:
    a, b, c = _parted()
    c.take(a)
    c.write(5, "on it", _setup("TP1 of A", inches(30)))
    a.take(b)
    a.write(6, "anew again", MarkMade("TP1", "", "begin", inches(35)))
    a.take(c)
    a.write(7, "corrected", _setup(_mark_of(_log(a), "on it"), inches(29)), "on it")
    log = _log(c, a, b)
    assert _mark_of(log, "corrected") == _mark_of(log, "on it")


def test_a_struck_mark_is_the_one_before_it_on_either_chain() -> None:
    a, b, c = _parted()
    a.write(4, "set up", _setup("TP1", inches(30)))
    a.write(5, "read", Reading("walk", "W1", "finish", "set up", inches(38), _JUDGED))
    a.write(6, "struck", Void("not so"), "anew")
    b.own = b.own[:2]
    own = a.own[-1][-1]
    # TP1 lies at 50 - 45 = 5 over DOOR, the laser at 5 + 30 = 35, W1 at 35 - 38 = -3; so it stays once B goes on.
    assert found_in(joined(a.all, own))["read"] == ("W1", -3, False)
    b.write(7, "b goes on", Note(None, "walk staked"))
    assert found_in(joined({**a.all, **b.all}, own))["read"] == ("W1", -3, False)
    c.take(a)
    c.write(8, "c begins", Note(None, "walk staked"))
    assert found_in(joined({**a.all, **b.all, **c.all}, own))["read"] == ("W1", -3, False)


def test_a_point_made_a_mark_stays_the_point_that_all_read() -> None:
    west, one, two = _three()
    one.write(10, "read", Reading("walk", "W1", "finish", "begin", inches(53), _JUDGED))
    one.write(11, "promoted", MarkMade("W1", "", "begin", inches(53), reading="read"))
    one.write(12, "read again", Reading("walk", "W1", "finish", "begin", inches(54), _JUDGED))
    one.write(13, "on it", _setup("W1", inches(30)))
    two.take(one)
    two.write(14, "on it too", _setup("W1 of crew", inches(30)))
    two.write(15, "read too", Reading("walk", "W1", "finish", "begin", inches(52), _JUDGED))
    log = _log(west, one, two)
    for entry_id in ("read", "read again", "read too"):
        fact = _entry(log, entry_id).fact
        assert isinstance(fact, Reading)
        assert fact.point == "W1"
    assert _mark_of(log, "promoted") == _mark_of(log, "on it") == _mark_of(log, "on it too") == "W1 of crew"


def test_a_mark_made_anew_behind_a_join_keeps_its_name() -> None:
    _west, one, two = _three()
    two.write(5, "two goes on", Note(None, "walk staked"))
    one.write(6, "made", MarkMade("TP1", "", "begin", inches(45)))
    one.take(two)
    log = _log(one)
    one.write(7, "anew", MarkMade("TP1", "", "begin", inches(44)))
    [row] = joined_rows(one.own[-1:])
    assert log.append(row)
    assert _mark_of(log, "anew") == _mark_of(_log(one), "anew") == _mark_of(log, "made") == "TP1 of crew"
