"""Several windows on one journal: each finds a place for what it writes, none is lost, none is doubled."""

from __future__ import annotations

import threading
from pathlib import Path

from gradecheck.journal.facts import Entry, Void
from gradecheck.journal.store import Journal
from tests.journal import hand
from tests.journal.drafts import draft, notes


def test_two_windows_write_in_turn_and_see_each_other(path: Path) -> None:
    one, other = Journal(path), Journal(path)
    for number in range(3):
        one.append(notes(f"one {number}"))
        other.append(notes(f"other {number}"))
    said = [f"{who} {number}" for number in range(3) for who in ("one", "other")]
    assert [entry.id for entry in one.entries()] == [entry.id for entry in other.entries()] == said
    assert [entry.seq for entry in one.entries()] == [1, 2, 3, 4, 5, 6]
    assert one.verify() == other.verify()
    assert one.verify().fault is None
    one.close()
    other.close()


def test_a_window_opened_before_the_journal_was_made_finds_it(path: Path) -> None:
    waiting, writing = Journal(path), Journal(path)
    (written,) = writing.append(notes("a"))
    assert waiting.last_seq == 1
    assert waiting.find("a") == written
    assert waiting.append(notes("b"))[0].seq == 2
    waiting.close()
    writing.close()


def test_what_one_window_struck_the_other_finds_struck(path: Path) -> None:
    one, other = Journal(path), Journal(path)
    one.append(notes("a"))
    other.append([draft(Void("keyed twice"), "v", replaces="a")])
    place = one.first_and_last("a")
    assert place is not None
    assert place[1].id == "v"
    one.close()
    other.close()


def test_four_processes_at_once_leave_no_gap_and_lose_nothing(path: Path) -> None:
    names, count = ("north", "east", "south", "west"), 100
    hands = [hand.start(path, name, count) for name in names]
    for each in hands:
        assert each.stdout is not None
        assert each.stdout.readline().decode().strip() == hand.READY
    said = []
    for each in hands:
        assert each.stdin is not None
        each.stdin.write(b"\n")
        each.stdin.flush()
    for each in hands:
        out, _ = each.communicate()
        said += out.decode().splitlines()
        assert each.returncode == 0
    journal = Journal(path)
    entries = [*journal.entries()]
    assert [entry.seq for entry in entries] == [*range(1, len(names) * count + 1)]
    assert sorted(entry.id for entry in entries) == sorted(said)
    for name in names:
        own = [entry.id for entry in entries if entry.id.startswith(name)]
        assert own == [hand.note_id(name, number) for number in range(count)]
    assert journal.verify().fault is None
    journal.close()


def test_windows_that_all_make_the_journal_at_once_make_one(tmp_path: Path) -> None:
    for round_ in range(10):
        folder = tmp_path / f"{round_}"
        folder.mkdir()
        journals = [Journal(folder / "journal.db") for _ in range(4)]
        start, written = threading.Barrier(len(journals)), list[Entry]()

        def write(number: int, journal: Journal, start: threading.Barrier, written: list[Entry]) -> None:
            start.wait()
            written.extend(journal.append(notes(f"first of {number}")))

        threads = [
            threading.Thread(target=write, args=(number, journal, start, written))
            for number, journal in enumerate(journals)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(entry.seq for entry in written) == [1, 2, 3, 4]
        assert [found.name for found in folder.iterdir()] == ["journal.db"]
        for journal in journals:
            assert [entry.id for entry in journal.entries()] == [
                entry.id for entry in sorted(written, key=lambda each: each.seq)
            ]
            assert journal.verify().fault is None
            journal.close()
