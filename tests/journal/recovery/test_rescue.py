"""A rescue keeps every entry that still fits its hash, says what is lost and why, and only reads the damaged file."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import pytest

from gradecheck.journal import schema
from gradecheck.journal.chain import COLUMNS, START, to_row
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry, Note, Void
from gradecheck.journal.recovery.pages import rows
from gradecheck.journal.recovery.remains import Lost, remains
from gradecheck.journal.recovery.rescue import Rescued, rescue
from gradecheck.journal.store import Journal
from tests.journal.damage import PAGE, blank, page_of, without_guards, write
from tests.journal.drafts import draft, notes

LATER = datetime(2031, 4, 9, 17, 0, tzinfo=UTC)
CHANGED = "its content was changed after it was written"


def rescued(path: Path) -> tuple[Rescued, list[Entry]]:
    """What a rescue of the file there says, and what stands in the new journal; the old file is as it was."""
    before = {each: each.read_bytes() for each in path.parent.iterdir()}
    numbers = count()
    new = path.with_name("rescued.db")
    found = rescue(path, new, laptop="office", at=LATER, ids=lambda: f"rescue {next(numbers)}")
    journal = Journal(new)
    assert journal.verify().fault is None
    assert journal.verify().last_hash == found.last_hash
    entries = [*journal.entries()]
    assert len(entries) == found.kept + found.chained_anew + found.notes
    journal.close()
    assert {each: each.read_bytes() for each in path.parent.iterdir() if each != new} == before
    return found, entries


def content(entry: Entry) -> tuple[object, ...]:
    """What a person did: everything of an entry but its place."""
    return entry.id, entry.laptop, entry.window, entry.by, entry.at, entry.offset, entry.typed, entry.fact, entry.plan


def told(entries: list[Entry]) -> list[str]:
    """The notes that the rescue wrote."""
    return [entry.fact.text for entry in entries if entry.window == "rescue" and isinstance(entry.fact, Note)]


def same_people(entries: list[Entry]) -> list[Entry]:
    return [entry for entry in entries if entry.window != "rescue"]


# -- what is kept


def test_a_sound_journal_is_taken_over_entry_by_entry_with_every_hash(path: Path) -> None:
    entries = write(path, 60)
    found, again = rescued(path)
    assert again == entries
    assert (found.kept, found.chained_anew, found.notes, found.lost) == (60, 0, 0, ())


@pytest.mark.parametrize("seq", [1, 2, 30, 59, 60])
def test_of_a_journal_with_one_entry_changed_all_others_are_kept(path: Path, seq: int) -> None:
    entries = write(path, 60)
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'other' WHERE seq = ?", (seq,))
    found, again = rescued(path)
    assert found.lost == (Lost(seq, seq, CHANGED),)
    assert (found.kept, found.chained_anew) == (seq - 1, 60 - seq)
    assert again[: seq - 1] == entries[: seq - 1]
    others = [entry for entry in entries if entry.seq != seq]
    assert [*map(content, same_people(again))] == [*map(content, others)]
    assert len(told(again)) == 1
    assert f"entry {seq}: {CHANGED}" in told(again)[0]
    if seq < 60:
        # The hash by which the entry behind the gap was known before stands in the new chain.
        assert entries[seq].hash in told(again)[0]


def test_numbers_go_on_without_a_gap_and_a_note_stands_for_what_is_lost(path: Path) -> None:
    entries = write(path, 9)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq IN (3, 4, 7)")
    found, again = rescued(path)
    assert found.lost == (Lost(3, 4, "missing"), Lost(7, 7, "missing"))
    assert [entry.id for entry in again] == ["n1", "n2", "rescue 0", "n5", "n6", "rescue 1", "n8", "n9"]
    assert [entry.seq for entry in again] == [*range(1, 9)]
    assert told(again)[0].startswith("Rescued: entries 3 to 4: missing. From entry 5 on (hash ")
    assert [entry.at for entry in again if entry.window == "rescue"] == [LATER, LATER]
    assert found.last == entries[-1].seq


def test_an_entry_forged_with_its_hash_breaks_the_chain(path: Path) -> None:
    entries = write(path, 6)
    forged = to_row(draft(Note(None, "never said"), "n3"), 3, entries[1].hash)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 3")
        connection.execute(schema.INSERT, forged)
    found, again = rescued(path)
    assert (found.kept, found.chained_anew, found.lost) == (3, 3, ())
    assert "entry 4: it does not follow the entry before it; one of the two was changed" in told(again)[0]


def test_what_replaced_a_lost_entry_stands_on_its_own_and_that_is_said(path: Path) -> None:
    journal = Journal(path)
    journal.append(notes("a", "b"))
    journal.append([draft(Note(None, "b put right"), "c", replaces="b"), draft(Void("no"), "d", replaces="c")])
    journal.append([draft(Note(None, "a put right"), "e", replaces="a")])
    journal.close()
    with without_guards(path) as connection:
        connection.execute("UPDATE entry SET typed = 'x' WHERE id = 'b'")
    found, again = rescued(path)
    assert {entry.id: entry.replaces for entry in same_people(again)} == {"a": None, "c": None, "d": "c", "e": "a"}
    assert [text for text in told(again) if "entry 3 replaced b, which is lost" in text]
    assert found.lost == (Lost(2, 2, CHANGED),)


def test_two_entries_that_claim_one_id_or_one_place_are_kept_once(path: Path) -> None:
    entries = write(path, 3)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for name in ("entry_never_changed", "entry_never_deleted", "entry_only_appended"):
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("DROP TABLE entry")
        connection.execute(schema.ENTRY.replace(" UNIQUE", "").replace(" REFERENCES entry(id)", ""))
        digest, seq = entries[2].hash, 3
        hashes = [START, *(entry.hash for entry in entries[:2])]
        rows = [to_row(each, each.seq, before) for each, before in zip(entries, hashes, strict=True)]
        for each in (draft(Note(None, "x"), "n1"), *(draft(Void("y"), f"v{n}", replaces="n2") for n in (1, 2))):
            seq += 1
            rows.append(to_row(each, seq, digest))
            digest = rows[-1][-1]
        connection.executemany(schema.INSERT, rows)
    found, again = rescued(path)
    twice = "an earlier entry has its id, or took the same place"
    assert found.lost == (Lost(4, 4, twice), Lost(6, 6, twice))
    assert [entry.id for entry in same_people(again)] == ["n1", "n2", "n3", "v1"]


@pytest.mark.parametrize("true_first", [True, False])
def test_of_two_rows_of_one_number_the_one_in_the_chain_is_kept(path: Path, true_first: bool) -> None:
    entries = write(path, 4)
    true = to_row(entries[1], 2, entries[0].hash)
    other = to_row(draft(Note(None, "never said"), "other"), 2, entries[2].hash)
    first, second = (true, other) if true_first else (other, true)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 2")
        connection.execute(schema.INSERT, first)
        # A table of the same form, whose page lies behind the journal's own, as a page that was left over does.
        connection.execute(schema.ENTRY.replace("TABLE entry", "TABLE aside"))
        connection.execute(schema.INSERT.replace("INTO entry", "INTO aside"), second)
    found, again = rescued(path)
    assert again == entries
    assert (found.kept, found.chained_anew, found.lost) == (4, 0, ())


# -- whatever SQLite thinks of the file


def _blank_first(path: Path) -> None:
    blank(path, 1)


def _blank_root(path: Path) -> None:
    blank(path, 2)  # the table's own root, without which SQLite finds no row at all


def _other_page_size(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[16:18] = b"\x02\x00"  # sqlite.org/fileformat2.html, section 1.3.2: 512 bytes
    path.write_bytes(content)


@pytest.mark.parametrize(
    "change", [_blank_first, _blank_root, _other_page_size], ids=["head", "root-of-the-table", "page-size"]
)
def test_entries_are_found_in_a_file_that_sqlite_can_not_read_any_more(
    path: Path, change: Callable[[Path], None]
) -> None:
    entries = write(path, 300)
    change(path)
    with pytest.raises(sqlite3.DatabaseError), closing(sqlite3.connect(path)) as connection:
        connection.execute("SELECT typed FROM entry").fetchall()
    found, again = rescued(path)
    assert again == entries
    assert found.lost == ()


def test_a_page_of_entries_gone_costs_those_entries_and_no_other(path: Path) -> None:
    entries = write(path, 300)
    blank(path, page_of(path, b'"at 150"'))
    found, again = rescued(path)
    gone = {entry.id for entry in entries} - {entry.id for entry in again}
    assert "n150" in gone
    assert len(gone) < 20
    assert sum(lost.last - lost.first + 1 for lost in found.lost) == len(gone)
    assert [*map(content, same_people(again))] == [content(entry) for entry in entries if entry.id not in gone]


def test_a_page_that_a_long_entry_runs_over_into_costs_that_entry_alone(path: Path) -> None:
    write(path, 30)
    whole = path.read_bytes()
    pages = {at // PAGE + 1: whole[at : at + PAGE] for at in range(0, len(whole), PAGE)}
    over = next(number for number, page in pages.items() if page[0] == 0 and page[4:200].count(b"so on") > 15)
    blank(path, over)
    found, _ = rescued(path)
    assert found.kept + found.chained_anew == 29


def test_a_file_cut_short_keeps_what_is_left_and_says_so(path: Path) -> None:
    entries = write(path, 300)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2 // PAGE * PAGE])
    found, again = rescued(path)
    kept = same_people(again)
    assert 50 < len(kept) < 300
    assert [*map(content, kept)] == [*map(content, entries[: len(kept)])]
    cut = "missing; the file was cut short, and how many entries followed can't be told"
    assert found.lost == (Lost(len(kept) + 1, len(kept) + 1, cut),)


def test_no_bit_flipped_anywhere_changes_what_a_rescue_keeps(path: Path) -> None:
    entries = {entry.id: content(entry) for entry in write(path, 80)}
    whole, draw = path.read_bytes(), random.Random(11)
    lost = 0
    for _ in range(150):
        place, bit = draw.randrange(len(whole)), 1 << draw.randrange(8)
        path.write_bytes(whole[:place] + bytes([whole[place] ^ bit]) + whole[place + 1 :])
        left = remains(path)
        known = {row[1] for row in left.beginning} | {entry.id for entry, _ in left.behind}
        for entry, _ in left.behind:
            assert content(entry) == entries[entry.id]
        for row in left.beginning:
            assert row[COLUMNS.index("typed")] == entries[row[1]][6]
        assert known <= entries.keys()
        # One bit harms one entry; a bit in the head of a page may cost the page.
        assert len(known) >= len(entries) - 20, f"bit {bit} of byte {place}"
        lost += len(known) < len(entries)
        # Nothing goes missing unsaid, but the end of a file that is not known to have had one.
        gone = len(entries) - len(known)
        said = sum(each.last - each.first + 1 for each in left.lost)
        assert said == gone or f"n{len(entries)}" not in known
    assert lost > 30, "hardly a flip hit an entry, so this says nothing"


def test_a_reader_that_believed_what_it_finds_would_be_caught_here(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The negative control: without the hashes a flipped figure passes for what was keyed.
    believed = write(path, 1)[0].hash
    monkeypatch.setattr("gradecheck.journal.chain._hash", lambda row: believed)
    text = path.read_bytes()
    assert text.count(b'"at 1"') == 1
    path.write_bytes(text.replace(b'"at 1"', b'"at 9"'))
    left = remains(path)
    (kept,) = [row[COLUMNS.index("fact")] for row in left.beginning]
    assert "at 9" in kept


def test_a_write_cut_off_is_taken_back_in_a_copy_alone(path: Path, tmp_path: Path) -> None:
    entries = write(path, 40)
    torn = tmp_path / "torn"
    torn.mkdir()
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA cache_size=1")  # so that pages reach the file before the commit
        connection.execute("BEGIN")
        digest = entries[-1].hash
        for seq in range(41, 400):
            row = to_row(draft(Note("walk", f"never {seq}"), f"never {seq}"), seq, digest)
            connection.execute(schema.INSERT, row)
            digest = row[-1]
        for name in ("journal.db", "journal.db-journal"):
            shutil.copyfile(path.with_name(name), torn / name)
        connection.execute("ROLLBACK")
    assert b"never 41" in (torn / "journal.db").read_bytes(), "the cut came too early to leave anything"
    found, again = rescued(torn / "journal.db")
    assert again == entries
    assert found.lost == ()


# -- what is refused


def test_a_name_that_is_taken_is_refused_and_what_has_it_stays(path: Path) -> None:
    write(path, 3)
    new = path.with_name("taken.db")
    new.write_text("mine")
    with pytest.raises(JournalError, match=r"taken\.db is there already"):
        rescue(path, new, laptop="", at=LATER, ids=str)
    with pytest.raises(JournalError, match="is there already"):
        rescue(path, path, laptop="", at=LATER, ids=str)
    assert new.read_text() == "mine"


@pytest.mark.parametrize(
    "foreign", [b"", b"levels of Tuesday\n" * 500, bytes(range(256)) * 64, b"SQLite format 3\0\x10\0"]
)
def test_a_file_with_nothing_of_ours_in_it_gives_no_journal(path: Path, foreign: bytes) -> None:
    path.write_bytes(foreign)
    with pytest.raises(JournalError, match="No entry can be read"):
        rescue(path, path.with_name("new.db"), laptop="", at=LATER, ids=str)
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_no_file_a_folder_and_a_pipe_are_refused_in_one_sentence(path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    pipe = tmp_path / "pipe"
    if hasattr(os, "mkfifo"):
        os.mkfifo(pipe)
    for each in (path, folder, pipe):
        with pytest.raises(JournalError):
            rescue(each, tmp_path / "new.db", laptop="", at=LATER, ids=str)
    assert not (tmp_path / "new.db").exists()


def test_a_journal_that_somebody_writes_into_meanwhile_is_not_rescued(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(path, 3)

    def while_another_writes(at: Path, width: int) -> Iterator[tuple[object, ...]]:
        write(path, 1, first=4)
        return rows(at, width)

    monkeypatch.setattr("gradecheck.journal.recovery.remains.rows", while_another_writes)
    with pytest.raises(JournalError, match="close every other window"):
        rescue(path, path.with_name("new.db"), laptop="", at=LATER, ids=str)
    assert [each.name for each in path.parent.iterdir()] == [path.name]
