"""What is appended comes back in order, once, by area and page by page; what took its place is told with it."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal import schema, store
from gradecheck.journal.chain import START, Row, to_row
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry, Note, Void
from gradecheck.journal.file import create
from gradecheck.journal.store import Journal, NotSavedError
from tests.journal.damage import without_guards
from tests.journal.drafts import draft, notes
from tests.strategies import examples


def test_nothing_is_on_disk_before_the_first_entry(path: Path) -> None:
    journal = Journal(path)
    assert (journal.last_seq, list(journal.entries()), journal.lines()) == (0, [], [])
    assert journal.verify().entries == 0
    journal.close()
    assert list(path.parent.iterdir()) == []


def test_an_entry_has_the_next_place_and_everything_its_draft_said(journal: Journal) -> None:
    (first,) = journal.append([draft(Note(None, "rain"), "a", typed="rain ")])
    (second,) = journal.append([draft(Note("walk", "dry"), "b")])
    assert (first.seq, second.seq) == (1, 2)
    assert (first.typed, first.fact, first.id) == ("rain ", Note(None, "rain"), "a")
    assert [*journal.entries()] == [first, second]
    assert journal.find("b") == journal.at(2) == second
    assert journal.find("c") is journal.at(3) is None


def test_entries_are_there_when_the_journal_is_opened_again(path: Path) -> None:
    journal = Journal(path)
    written = journal.append(notes("rain", "dry", "wind"))
    journal.close()
    again = Journal(path)
    assert [*again.entries()] == written
    assert [*again.entries(after=2)] == written[2:]
    assert again.verify().fault is None
    again.close()


def test_several_drafts_are_written_all_or_none(journal: Journal) -> None:
    journal.append(notes("a"))
    with pytest.raises(NotSavedError):
        journal.append([*notes("b"), draft(Void("x"), "c", replaces="never was there")])
    assert [entry.id for entry in journal.entries()] == ["a"]
    assert journal.append(notes("b"))[0].seq == 2


def test_the_same_draft_again_is_not_written_twice(journal: Journal) -> None:
    first = journal.append(notes("a", "b"))
    assert journal.append(notes("a", "b")) == first
    assert journal.append(notes("b", "c", "a"))[0] == first[1]
    assert [entry.id for entry in journal.entries()] == ["a", "b", "c"]


def test_nobody_else_can_write_from_before_a_write_reads_what_is_there(journal: Journal) -> None:
    journal.append(notes("a"))
    said: list[str] = []
    journal._connection.set_trace_callback(said.append)
    journal.append(notes("b"))
    writing = said[next(at for at, each in enumerate(said) if each.startswith("BEGIN")) :]
    assert writing[0] == "BEGIN IMMEDIATE", "a plain BEGIN locks nobody out until the first INSERT"
    assert any(each.startswith("SELECT") for each in writing)


def test_every_entry_is_tied_to_the_one_before_it(journal: Journal) -> None:
    written = journal.append(notes("a", "b", "c"))
    assert len({START, *(entry.hash for entry in written)}) == 4
    assert journal.verify().last_hash == written[-1].hash


def test_the_log_of_an_area_holds_its_entries_and_those_about_all_areas(journal: Journal) -> None:
    journal.append([*notes("w1", area="walk"), *notes("all"), *notes("c1", area="court"), *notes("w2", area="walk")])
    assert [line.entry.id for line in journal.lines("walk")] == ["w1", "all", "w2"]
    assert [line.entry.id for line in journal.lines("court")] == ["all", "c1"]
    assert [line.entry.id for line in journal.lines("pond")] == ["all"]
    assert [line.entry.id for line in journal.lines()] == ["w1", "all", "c1", "w2"]


def test_the_log_of_an_area_has_no_strike_of_what_another_area_has(journal: Journal) -> None:
    journal.append([*notes("w1", area="walk"), *notes("c1", area="court"), *notes("all")])
    journal.append([draft(Void("keyed twice"), "v1", replaces="w1"), draft(Void("wrong"), "v2", replaces="all")])
    journal.append([draft(Void("not so"), "v3", replaces="v1")])
    assert [line.entry.id for line in journal.lines("walk")] == ["w1", "all", "v1", "v2", "v3"]
    assert [line.entry.id for line in journal.lines("court")] == ["c1", "all", "v2"]


def test_a_line_tells_which_entry_took_its_place(journal: Journal) -> None:
    journal.append(notes("a", "b"))
    journal.append([draft(Void("keyed twice"), "v", replaces="a")])
    assert {line.entry.id: line.replaced_by for line in journal.lines()} == {"a": "v", "b": None, "v": None}


@examples(40)
@given(
    areas=st.lists(st.sampled_from((None, "walk", "court")), max_size=25),
    area=st.sampled_from((None, "walk", "court")),
    page=st.integers(1, 7),
)
def test_pages_of_the_log_put_together_are_the_whole_log(
    tmp_path_factory: pytest.TempPathFactory, areas: list[str | None], area: str | None, page: int
) -> None:
    journal = Journal(tmp_path_factory.mktemp("log") / "journal.db")
    if areas:
        journal.append([draft(Note(of, "x"), f"{number}") for number, of in enumerate(areas)])
    pages, before = [], None
    while lines := journal.lines(area, before, page):
        assert len(lines) <= page
        pages = [*lines, *pages]
        before = lines[0].entry.seq
    whole = [entry.seq for entry in journal.entries() if area is None or entry.area in (None, area)]
    assert [line.entry.seq for line in pages] == whole
    journal.close()


def test_what_stands_is_found_from_every_entry_of_its_place(journal: Journal) -> None:
    # a was put right by c and again by d, and then struck by e; b was left as it was.
    journal.append(notes("a", "b"))
    journal.append([draft(Note(None, "c"), "c", replaces="a"), draft(Note(None, "d"), "d", replaces="c")])
    journal.append([draft(Void("all wrong"), "e", replaces="d")])

    def ids(place: tuple[Entry, Entry] | None) -> tuple[str, ...]:
        assert place is not None
        return tuple(entry.id for entry in place)

    assert [ids(journal.first_and_last(name)) for name in "acde"] == [("a", "e")] * 4
    assert ids(journal.first_and_last("b")) == ("b", "b")
    assert journal.first_and_last("nobody") is None


@examples(40)
@given(st.lists(st.integers(0, 20), min_size=1, max_size=20))
def test_what_stands_follows_every_chain_of_corrections(
    tmp_path_factory: pytest.TempPathFactory, choices: list[int]
) -> None:
    journal = Journal(tmp_path_factory.mktemp("log") / "journal.db")
    chains: list[list[str]] = []
    for number, choice in enumerate(choices):
        corrects = chains[choice] if choice < len(chains) else None
        replaces = corrects[-1] if corrects else None
        journal.append([draft(Note(None, "x"), f"{number}", replaces=replaces)])
        if corrects:
            corrects.append(f"{number}")
        else:
            chains.append([f"{number}"])
    for chain in chains:
        for name in chain:
            place = journal.first_and_last(name)
            assert place is not None
            assert (place[0].id, place[1].id) == (chain[0], chain[-1])
    journal.close()


def test_an_entry_whose_place_is_taken_can_not_be_replaced_a_second_time(journal: Journal) -> None:
    journal.append(notes("a"))
    journal.append([draft(Void("mine"), "v", replaces="a")])
    with pytest.raises(NotSavedError, match="another window"):
        journal.append([draft(Void("yours"), "w", replaces="a")])
    assert journal.last_seq == 2


@pytest.mark.parametrize(("first", "second"), [("a", None), ("b", "a")], ids=["itself", "one another"])
def test_entries_that_replace_in_a_circle_are_refused(path: Path, first: str, second: str | None) -> None:
    # A journal of ours never gets there; one that came from somewhere else may hold together and say so all the same.
    rows: list[Row] = []
    for made in (draft(Note(None, "a"), "a", replaces=first), draft(Note(None, "b"), "b", replaces=second)):
        rows.append(to_row(made, len(rows) + 1, rows[-1][-1] if rows else START))
    create(path)
    with without_guards(path) as connection:
        connection.executemany(schema.INSERT, rows)
    journal = Journal(path)
    for look in (journal.lines, lambda: journal.first_and_last("a")):
        with pytest.raises(JournalError, match=r"Entry 1 .* was not there before it"):
            look()
    journal.close()


def test_a_part_that_would_not_fit_into_memory_is_refused_in_one_sentence(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = Journal(path)
    journal.append(notes("a"))

    def too_large(row: object, previous: object = None) -> Entry:
        raise MemoryError  # as SQLite does where a damaged length asks for more than there is

    monkeypatch.setattr(store, "from_row", too_large)
    with pytest.raises(JournalError, match="would not fit into memory"):
        list(journal.entries())
    fault = journal.verify().fault
    assert fault is not None
    assert "would not fit into memory" in fault
    journal.close()


def test_a_journal_in_a_missing_folder_is_refused_in_one_sentence(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "no such job" / "journal.db")
    with pytest.raises(JournalError, match=r"There is no folder .*no such job"):
        journal.append(notes("a"))
    assert not (tmp_path / "no such job").exists()


@pytest.mark.parametrize("at_once", [1, 2, 3, 1000])
def test_a_journal_is_read_in_pieces_and_told_whole(
    journal: Journal, monkeypatch: pytest.MonkeyPatch, at_once: int
) -> None:
    monkeypatch.setattr(store, "AT_ONCE", at_once)
    written = journal.append(notes("a", "b", "c", "d"))
    assert [*journal.entries()] == written
    assert [*journal.entries(after=2)] == written[2:]


def test_another_window_may_write_while_a_long_journal_is_read(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "AT_ONCE", 2)
    here, there = Journal(path), Journal(path)
    here.append(notes("a", "b", "c", "d"))
    reading = here.entries()
    assert next(reading).id == "a"
    assert there.append(notes("e"))[0].seq == 5
    assert [entry.id for entry in reading] == ["b", "c", "d", "e"]
    here.close()
    there.close()


def test_what_replaces_another_and_the_last_of_a_kind_can_be_had_alone(journal: Journal) -> None:
    journal.append(notes("a", "b"))
    (void,) = journal.append([draft(Void("keyed twice"), "v", replaces="a")])
    (last,) = journal.append(notes("c"))
    assert journal.replacing() == [void]
    assert journal.last_of("note") == last
    assert journal.last_of("plan") is None


def test_of_several_unsound_entries_the_first_is_named_whatever_was_asked(path: Path) -> None:
    journal = Journal(path)
    journal.append(notes("a", "b"))
    journal.append([draft(Void("keyed twice"), "v", replaces="a")])
    journal.close()
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'else' WHERE id IN ('b', 'v')")
    journal = Journal(path)
    with pytest.raises(JournalError, match=r"Entry 2 of .* is not sound"):
        journal.replacing()
    journal.close()


def test_it_would_be_told_wrong_without_a_look_at_those_before(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The control to the test above."""
    test_of_several_unsound_entries_the_first_is_named_whatever_was_asked(path)
    monkeypatch.setattr(Journal, "chain", lambda self, after=0: iter(()))
    journal = Journal(path)
    with pytest.raises(JournalError, match=r"Entry 3 of .* is not sound"):
        journal.replacing()
    journal.close()
