"""What is made on site is told apart by the laptop that made it, and a name means what its author meant by it."""

from __future__ import annotations

import itertools

import pytest

from gradecheck.joining.log import JoinedLog
from gradecheck.joining.names import called, identity
from gradecheck.journal.facts import Entry, MarkMade, PointAdded, Reading, SetupMade
from gradecheck.measure.quantities import Elevation, inches
from tests.joining.days import _JUDGED, _setup
from tests.joining.laptops import Laptop, joined_rows

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
