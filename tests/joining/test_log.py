"""Joined in whichever way, the same entries make the same log; held against a plain model that shares no code."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.joining.history import History
from gradecheck.joining.log import JoinedLog
from gradecheck.journal.chain import from_row
from gradecheck.journal.facts import Note
from tests.joining.laptops import Laptop, Stored, history, joined_rows, plain_of


def everything(laptops: list[Laptop]) -> dict[str, Stored]:
    """All rows that any of them has."""
    return {digest: row for laptop in laptops for digest, row in laptop.all.items()}


def shown(log: JoinedLog) -> list[tuple[object, ...]]:
    """Every place of a log, with what counts there and what it is in conflict with."""
    return [
        (each.first.seq, each.first.id, each.last.id, str(each.last.fact), tuple(other.id for other in each.against))
        for each in log.places()
    ]


@given(st.integers(0, 10**9))
def test_every_order_of_joining_gives_the_same_log(seed: int) -> None:
    rows = everything(history(seed))
    draw = random.Random(seed)
    shuffled = list(rows.values())
    draw.shuffle(shuffled)
    first, again = JoinedLog(joined_rows(rows.values())), JoinedLog(joined_rows([*shuffled, *shuffled[:5]]))
    assert shown(first) == shown(again)
    assert [entry.hash for entry in first.entries] == [entry.hash for entry in again.entries]


@given(st.integers(0, 10**9))
def test_what_counts_and_in_which_order_is_what_the_plain_model_says(seed: int) -> None:
    rows = everything(history(seed))
    plain, log = plain_of(rows.values()), JoinedLog(joined_rows(rows.values()))
    assert log.history.order == plain.order()
    by_id = {entry.id: entry.hash for entry in log.entries}
    for place in log.places():
        # The model knows entries by hash and these by id; an id is given once here.
        model = plain_of(rows.values())
        for name, row in list(model.rows.items()):
            model.rows[name] = type(row)(row.name, row.before, row.laptop, row.number, row.at, row.knows,
                                         by_id.get(row.replaces, ""), row.says)  # fmt: skip
        counts, left = model.standing(place.first.hash)
        assert place.last.hash == counts
        says = {model.rows[name].says for name in left if model.rows[name].says != model.rows[counts].says}
        assert {str(each.fact) for each in place.against} == says


@given(st.integers(0, 10**9))
def test_who_knew_what_is_what_the_plain_model_says(seed: int) -> None:
    rows = everything(history(seed))
    plain, found = plain_of(rows.values()), JoinedLog(joined_rows(rows.values())).history
    closed = plain.closed()
    for one in found.order:
        for other in found.order:
            assert found.knew(one, other) == (other in closed[one]), (one, other)
            assert found.on_line(one, other) == (other in plain.line(one))


@given(st.integers(0, 10**9), st.data())
def test_rows_that_come_piece_by_piece_wait_and_count_in_the_end(seed: int, data: st.DataObject) -> None:
    rows = everything(history(seed))
    some = data.draw(st.sets(st.sampled_from(sorted(rows))))
    part = [rows[digest] for digest in some]
    found, plain = JoinedLog(joined_rows(part)).history, plain_of(part)
    assert set(found.order) == plain.closed().keys()
    assert set(found.waiting) == set(some) - plain.closed().keys()
    assert all(missing not in plain.closed() for missing in found.waiting.values())


@given(st.integers(0, 10**9))
def test_two_rows_never_change_places_when_more_arrive(seed: int) -> None:
    rows = everything(history(seed))
    whole = JoinedLog(joined_rows(rows.values())).history
    for end in whole.ends:
        part = [rows[digest] for digest in whole.order if digest == end or whole.knew(end, digest)]
        some = JoinedLog(joined_rows(part)).history
        assert some.order == [digest for digest in whole.order if digest in some.rank]


@given(st.integers(0, 10**9))
def test_what_a_laptop_says_it_knows_is_what_is_new_to_it(seed: int) -> None:
    for laptop in history(seed):
        if laptop.own:
            log = JoinedLog(joined_rows(laptop.all.values()), laptop.own[-1][-1])
            assert {head.hash for head in log.heads} == set(laptop._new_heads())


@given(st.integers(0, 10**9))
def test_an_own_entry_added_to_a_log_makes_the_log_that_is_worked_out_anew(seed: int) -> None:
    for laptop in history(seed):
        if not laptop.own:
            continue
        before = joined_rows(laptop.all.values())
        log = JoinedLog(before, laptop.own[-1][-1])
        replaces = from_row(laptop.own[-1]).id if seed % 2 else None
        laptop.write(500, "added", Note(None, "added"), replaces)
        [row] = joined_rows(laptop.own[-1:])
        anew = JoinedLog([*before, row], row.entry.hash)
        if log.append(row):
            assert shown(log) == shown(anew)
            assert [entry.hash for entry in log.entries] == [entry.hash for entry in anew.entries]
            assert log.history.ends == anew.history.ends
            assert log.heads == anew.heads == ()
        else:
            assert any(row.previous == other.previous for other in before)


def test_by_time_alone_entries_would_precede_what_was_known() -> None:
    # The negative control: the histories drawn here do tell the two orders apart.
    wrong = Counter[bool]()
    for seed in range(60):
        found = JoinedLog(joined_rows(everything(history(seed)).values())).history
        by_time = sorted(found.order, key=lambda digest: (found.link(digest).at, found.link(digest).laptop))
        wrong[any(found.knew(one, other) for at, one in enumerate(by_time) for other in by_time[at + 1 :])] += 1
    assert wrong[True] > 10


def test_were_the_first_always_to_count_an_answer_would_come_undone() -> None:
    # The negative control of the rule that an answer ends a conflict: it makes a difference in these histories.
    open_, answered = 0, 0
    for seed in range(150):
        log = JoinedLog(joined_rows(everything(history(seed)).values()))
        for place in log.places():
            ends = [each for each in log.entries if log.first_of(each) is place.first and not log.successors(each)]
            open_ += bool(place.against)
            answered += len(ends) > 1 and min(ends, key=lambda each: each.seq) is not place.last
    assert open_ > 5
    assert answered > 0


@pytest.mark.parametrize("gap", [0, 2])
def test_an_entry_whose_number_does_not_follow_never_counts_and_is_named(gap: int) -> None:
    laptop = history(1)[0]
    rows = joined_rows(laptop.own[:3])
    links = [row.link for row in rows]
    forged = type(links[2])(links[2].hash, links[2].previous, "A", links[1].number + gap, links[2].at)
    found = History([*links[:2], forged])
    assert found.order == [links[0].hash, links[1].hash]
    assert found.unsound == [forged.hash]


def test_restored_and_cloned_laptops_lose_nothing_and_forks_are_found() -> None:
    forks = 0
    for seed in range(60):
        rows = everything(history(seed))
        found = JoinedLog(joined_rows(rows.values())).history
        assert len(found.order) == len(rows)
        for sides in found.forks:
            forks += len({found.link(each).laptop for each in sides}) < len(sides)
    assert forks > 5
