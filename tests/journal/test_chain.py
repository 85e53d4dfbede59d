"""Every fact comes back from its row exactly as it was, and a row that was touched is noticed."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from datetime import timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.codec import CodecError, decode, encode
from gradecheck.journal.chain import COLUMNS, START, UnsoundEntryError, _hash, from_row, to_row
from gradecheck.journal.facts import (
    KIND_OF,
    KINDS,
    Backsight,
    CautionsRead,
    Draft,
    Fact,
    Head,
    Judged,
    Note,
    PlanRevised,
    Reading,
    SetupMade,
    Void,
)
from gradecheck.measure.quantities import Elevation, inches
from gradecheck.measure.verdict_words import Word
from tests.journal.drafts import draft
from tests.journal_strategies import ANY_FACT, drafts, sixteenths

NOTE = '"compacted":null,"undercut":null,"past_hold":""'
"""What a note has behind its words and its offset, where it says nothing of layers."""


def test_every_kind_of_fact_has_its_own_name_and_is_drawn_here() -> None:
    assert {KIND_OF[kind]: kind for kind in KIND_OF} == KINDS
    assert ANY_FACT.keys() == KINDS.keys()


@pytest.mark.parametrize("kind", sorted(ANY_FACT))
@given(data=st.data())
def test_a_fact_of_every_kind_comes_back_from_its_text_as_it_was(kind: str, data: st.DataObject) -> None:
    fact: Fact = data.draw(ANY_FACT[kind], label="fact")
    text = encode(fact)
    assert decode(KINDS[kind], text) == fact
    assert encode(decode(KINDS[kind], text)) == text


# The texts are what stands in journals on site: whatever the program becomes, it must go on reading them.
JUDGED = Judged(Elevation(inches(-3).metres), Elevation(sixteenths(-54).metres), inches(1), inches(0), Word.CUT)
WRITTEN = [
    (PlanRevised("ab12", "job: x\n"), r'{"digest":"ab12","text":"job: x\n","files":{},"number":null}'),
    (CautionsRead(("Locate services.",)), '{"cautions":["Locate services."]}'),
    (
        Reading("walk", "W1", "base", "0190", sixteenths(789), JUDGED),
        '{"area":"walk","judged":{"found":"-381/5000","high":"127/5000","low":"0","wanted":"-3429/40000",'
        '"word":"CUT"},"point":"W1","rod":"100203/80000","setup":"0190","stage":"base"}',
    ),
    (
        SetupMade("site rod", (Backsight("DOOR", sixteenths(772), Elevation(inches(0).metres)),)),
        '{"backsights":[{"elevation":"0","mark":"DOOR","rod":"24511/20000"}],"rod":"site rod"}',
    ),
    (Note(None, "rain — “stopped”"), '{"area":null,"text":"rain — “stopped”"}'),
    (Void("keyed twice"), '{"why":"keyed twice"}'),
]


@pytest.mark.parametrize(("fact", "text"), WRITTEN, ids=[KIND_OF[type(fact)] for fact, _ in WRITTEN])
def test_a_fact_written_by_the_first_format_is_still_read(fact: Fact, text: str) -> None:
    assert decode(type(fact), text) == fact


@pytest.mark.parametrize(
    "text",
    [
        "",
        "null",
        "[]",
        "{}",
        '{"area":"walk"}',
        '{"area":"walk","text":"x","more":1}',
        '{"area":1,"text":"x"}',
        '{"area":null,"text":null}',
        '{"area":null,"text":["x"]}',
        "[" * 100_000,
    ],
)
def test_text_that_is_no_such_fact_is_refused_with_our_own_error(text: str) -> None:
    with pytest.raises(CodecError):
        decode(Note, text)


@pytest.mark.parametrize(
    "rod",
    ["", "x", "0.5", "1/0", "1e30000000", "\N{ARABIC-INDIC DIGIT ONE}", " 1/2", "1/2\n", "1_0/2", "--1/2", "+1/2"],
)
def test_a_length_in_the_file_is_a_plain_fraction_or_nothing(rod: str) -> None:
    text = encode(Backsight("DOOR", inches(1), Elevation(inches(0).metres))).replace('"127/5000"', json.dumps(rod))
    with pytest.raises(CodecError):
        decode(Backsight, text)


def test_a_float_or_a_whole_number_is_never_taken_for_a_length() -> None:
    text = encode(Backsight("DOOR", inches(1), Elevation(inches(0).metres)))
    for number in ("0.0254", "1", "true", "null"):
        with pytest.raises(CodecError):
            decode(Backsight, text.replace('"127/5000"', number))


@given(drafts(), st.integers(1, 10**6), st.sampled_from((START, "ab" * 32)))
def test_an_entry_comes_back_from_its_row_with_all_its_draft_said(made: Draft, seq: int, previous: str) -> None:
    row = to_row(made, seq, previous)
    entry = from_row(row, previous)
    assert entry.seq == seq
    assert entry.hash == row[-1]
    for name in ("id", "laptop", "window", "by", "typed", "offset", "version", "plan", "fact", "replaces", "kind"):
        assert getattr(entry, name) == getattr(made, name), name
    # A millisecond is as fine as the file tells the time.
    assert entry.at == made.at.replace(microsecond=made.at.microsecond // 1000 * 1000)
    assert entry.area == made.area


def test_the_time_is_stored_in_utc_whatever_clock_told_it() -> None:
    made = draft(Note(None, "rain"), "a")
    there = dataclasses.replace(made, at=made.at.astimezone(timezone(timedelta(hours=5, minutes=45))))
    assert to_row(there, 1, START) == to_row(made, 1, START)
    assert to_row(there, 1, START)[COLUMNS.index("at")] == "2031-04-07T06:30:00.000+00:00"


@given(drafts(), st.integers(1, 10**6))
def test_the_hash_is_sha_256_over_all_other_columns_as_json(made: Draft, seq: int) -> None:
    row = to_row(made, seq, START)
    content = json.dumps(list(row[:-1]), ensure_ascii=False, separators=(",", ":"))
    assert row[-1] == hashlib.sha256(content.encode()).hexdigest()


@given(drafts(), st.data())
def test_a_row_with_any_one_column_changed_is_noticed(made: Draft, data: st.DataObject) -> None:
    row = list(to_row(made, 7, START))
    place = data.draw(st.integers(0, len(row) - 1), label="column")
    others = st.integers(0, 99) | st.text(max_size=70) | st.none() | st.binary(max_size=70)
    others |= st.floats(allow_nan=False)  # SQLite has no NaN: it stores NULL, which is drawn above
    other: Any = data.draw(others, label="content")
    if other == row[place] and type(other) is type(row[place]):
        other = "changed"
    row[place] = other
    with pytest.raises(UnsoundEntryError) as noticed:
        from_row(tuple(row), START)
    assert noticed.value.seq == row[0]


@given(drafts())
def test_a_row_behind_another_entry_than_its_own_is_noticed(made: Draft) -> None:
    row = to_row(made, 7, "ab" * 32)
    assert from_row(row, "ab" * 32).seq == 7
    with pytest.raises(UnsoundEntryError, match="before it is missing"):
        from_row(row, "cd" * 32)


@pytest.mark.parametrize(
    ("column", "content"),
    [("kind", "nonesuch"), ("at", "yesterday"), ("fact", "{}"), ("fact", "not json"), ("kind", "void")],
)
def test_a_sound_row_of_an_unknown_kind_is_named_by_its_number(column: str, content: str) -> None:
    row = list(to_row(draft(Note(None, "rain"), "a"), 3, START))
    row[COLUMNS.index(column)] = content
    row[-1] = hashlib.sha256(json.dumps(row[:-1], ensure_ascii=False, separators=(",", ":")).encode()).hexdigest()
    with pytest.raises(UnsoundEntryError, match=r"^entry 3: .* can't be read"):
        from_row(tuple(row), START)


# -- what an entry says its laptop knew of other chains

A, B = "a" * 64, "b" * 64


def test_what_was_known_of_other_chains_stands_before_the_fact_and_returns() -> None:
    heads = (Head("north crew", 12, A), Head("“south”", 3, B))
    knowing = dataclasses.replace(draft(Note(None, "x"), "n"), knows=heads)
    row = to_row(knowing, 1, START)
    assert (
        row[13]
        == f'{{"knows":[["north crew",12,"{A}"],["“south”",3,"{B}"]],"area":null,"text":"x","above":null,{NOTE}}}'
    )
    assert from_row(row).knows == heads
    assert from_row(row).fact == Note(None, "x")


def test_it_stands_before_the_words_of_a_clock_too() -> None:
    plain = dataclasses.replace(draft(Note(None, "x"), "n"), clock="1970")
    both = dataclasses.replace(plain, knows=(Head("n", 1, A),))
    assert to_row(plain, 1, START)[13] == f'{{"clock unknown":"1970","area":null,"text":"x","above":null,{NOTE}}}'
    found = from_row(to_row(both, 1, START))
    assert (found.clock, found.knows, found.fact) == ("1970", both.knows, plain.fact)


@pytest.mark.parametrize(
    "heads",
    ['[]', '{}', '7', '[["n",0,"HASH"]]', '[["n",9007199254740992,"HASH"]]', '[["n",true,"HASH"]]', '[["n",1,"abc"]]',
     '[[1,1,"HASH"]]', '[["n",1]]', '[["n",1,"HASH",2]]', '[["n",1,7]]', '["n"]', "[[" * 100],
)  # fmt: skip
def test_heads_that_are_none_make_an_entry_that_can_not_be_read(heads: str) -> None:
    row = list(to_row(draft(Note(None, "x"), "n"), 1, START))
    row[13] = '{"knows":' + heads.replace("HASH", A) + "," + row[13][1:]
    row[-1] = _hash(tuple(row[:-1]))
    with pytest.raises(UnsoundEntryError, match="its note can't be read"):
        from_row(tuple(row))
