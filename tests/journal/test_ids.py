"""Ids are UUIDs of version 7, and sort in the order they were made whatever the clock does."""

from __future__ import annotations

import threading
import time
import uuid
from collections.abc import Callable, Iterator

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.ids import Ids

MOMENT = 0x017F22E279B0
"""Tuesday, 22 February 2022, 2:22:22 PM at UTC-5, in milliseconds (RFC 9562, appendix A.6)."""


def _clock(ticks: list[int]) -> Callable[[], int]:
    left: Iterator[int] = iter(ticks)
    return lambda: next(left)


def _milliseconds(made: str) -> int:
    return uuid.UUID(made).int >> 80


def _count(made: str) -> int:
    return uuid.UUID(made).int >> 64 & 0xFFF


def test_the_published_example_is_the_id_numbered_cc3_of_its_millisecond() -> None:
    # RFC 9562, appendix A.6: rand_a is CC3 there, and rand_b 18C4DC0C0C07398F behind the two bits of the variant.
    ids = Ids(lambda: MOMENT, lambda size: (0x18C4DC0C0C07398F).to_bytes(size, "big"))
    made = [ids() for _ in range(0xCC3 + 1)]
    assert made[-1] == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(st.integers(0, 2**48 - 2), st.binary(min_size=8, max_size=8))
def test_version_variant_and_time_stand_where_the_standard_wants_them(moment: int, random: bytes) -> None:
    made = uuid.UUID(Ids(lambda: moment, lambda _: random)())
    assert made.version == 7
    assert made.variant == uuid.RFC_4122
    assert made.int >> 80 == moment


@given(st.lists(st.integers(0, 50), min_size=1, max_size=60))
def test_ids_sort_in_the_order_they_were_made_whatever_the_clock_says(ticks: list[int]) -> None:
    ids = Ids(_clock(ticks))
    made = [ids() for _ in ticks]
    assert made == sorted(made)
    assert len(set(made)) == len(made)


def test_when_the_clock_goes_back_ids_go_on_from_the_last_millisecond() -> None:
    ids = Ids(_clock([MOMENT, MOMENT - 3_600_000, MOMENT - 1, MOMENT + 1]))
    first, back, still_back, onward = ids(), ids(), ids(), ids()
    assert [_milliseconds(made) for made in (first, back, still_back, onward)] == [MOMENT] * 3 + [MOMENT + 1]
    assert [_count(made) for made in (first, back, still_back, onward)] == [0, 1, 2, 0]


def test_more_ids_than_one_millisecond_can_count_borrow_from_the_next() -> None:
    ids = Ids(lambda: MOMENT)
    made = [ids() for _ in range(2 * 4096 + 2)]
    assert made == sorted(set(made))
    assert [_milliseconds(each) - MOMENT for each in (made[0], made[4095], made[4096], made[-1])] == [0, 0, 1, 2]


def test_ids_made_in_several_threads_at_once_are_all_different() -> None:
    ids, made = Ids(lambda: MOMENT), list[str]()
    threads = [threading.Thread(target=lambda: made.extend([ids() for _ in range(500)])) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(made)) == 2000


def test_the_own_clock_and_randomness_give_an_id_of_this_moment() -> None:
    before = time.time_ns() // 1_000_000
    first, second = Ids()(), Ids()()
    assert before <= _milliseconds(first) <= time.time_ns() // 1_000_000
    assert first[19:] != second[19:]
