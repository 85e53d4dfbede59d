"""Nothing here is named saved before it is on the disk, and what could not be saved stays in front of its typist."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.widgets.verdict_panel import PanelFace, VerdictPanel
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Entry
from gradecheck.journal.store import NotSavedError
from gradecheck.state.state import Surface
from tests.app.driving import Clock, point, post, press, readings, recorded, running, settle, typed, verdict, words

FULL = "NOT SAVED: the disk is full. Try again; what you typed is still here."
ON_CHECK = f"{FULL} Ctrl+B goes on in another folder."


class Disk:
    """Stands before the journal's `append`: refuses, or holds it up, and remembers what was handed to it."""

    def __init__(self, app: GradeApp, monkeypatch: pytest.MonkeyPatch) -> None:
        assert app.session is not None
        self._append: Callable[[Sequence[Draft]], list[Entry]] = app.session.journal.append
        self.full = False
        self.lies = False
        self.open = threading.Event()
        self.open.set()
        self.asked = threading.Event()
        self.ids: list[list[str]] = []
        monkeypatch.setattr(app.session.journal, "append", self.append)

    def append(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Writes, unless the disk is full; where it `lies`, writes and says that it did not."""
        self.ids.append([draft.id for draft in drafts])
        self.asked.set()
        self.open.wait()
        if self.full:
            raise NotSavedError(FULL)
        written = self._append(drafts)
        if self.lies:
            raise NotSavedError(FULL)
        return written

    async def reached(self) -> None:
        """Waits until the writer stands before the disk."""
        while not self.asked.is_set():
            await asyncio.sleep(0)


async def test_saved_is_said_only_of_what_another_connection_finds_in_the_file(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[tuple[str, list[str]]] = []
    show = VerdictPanel.show

    def told(self: VerdictPanel, face: PanelFace) -> None:
        if face.large:
            said.append((face.name[0].split()[0], [name for name, _, _ in readings(job)]))
        show(self, face)

    monkeypatch.setattr(VerdictPanel, "show", told)
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "51-1/2", "enter", "52", "enter")
        assert " saved " in words(app, "verdict")
    assert {name for name, _ in said} == {"P1", "P2", "P3"}
    assert all(name in on_disk for name, on_disk in said)


async def test_while_the_disk_is_slow_nothing_is_called_saved_and_keys_are_taken(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.open.clear()
    try:
        post(pilot, "51-3/16", "enter", "51-1/2")
        await disk.reached()
        while typed(app) != "51-1/2":  # the next keys do not wait for the disk
            await asyncio.sleep(0)
        assert (verdict(app) in ("", "NOT SAVED"), readings(job)) == (True, [])
        assert " saved 0" not in words(app, "verdict")
    finally:
        disk.open.set()
    await settle(pilot)
    assert verdict(app) == "FILL 3/16"
    assert " saved " in words(app, "verdict")
    assert (point(app), typed(app)) == ("P1", "51-1/2")


async def test_what_was_not_saved_is_kept_and_enter_again_saves_it_once(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = recorded(job)
    async with running(app) as pilot:
        disk = Disk(app, monkeypatch)
        disk.full = True
        await press(pilot, "51-3/16", "enter")
        assert words(app) == ON_CHECK
        assert (typed(app), point(app), verdict(app), recorded(job)) == ("51-3/16", "P1", "NOT SAVED", before)
        await press(pilot, "enter")
        assert (typed(app), recorded(job)) == ("51-3/16", before)
        disk.full = False
        await press(pilot, "enter")
        assert readings(job) == [("P1", "finish", "51-3/16")]
        assert (typed(app), point(app), verdict(app)) == ("", "P1", "FILL 3/16")
        assert disk.ids[0] == disk.ids[1] == disk.ids[2], "the same entry was tried three times"


async def test_what_was_saved_after_all_is_not_saved_twice(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.lies = True
    await press(pilot, "51", "enter")
    assert words(app) == ON_CHECK
    disk.lies = False
    await press(pilot, "enter")
    assert readings(job) == [("P1", "finish", "51")]
    assert (point(app), verdict(app)) == ("P2", "ON GRADE")


async def test_another_figure_after_a_failed_one_is_another_entry(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.full = True
    await press(pilot, "51", "enter")
    disk.full = False
    await press(pilot, "end", "-1/16", "enter")
    assert readings(job) == [("P1", "finish", "51-1/16")]
    assert disk.ids[0] != disk.ids[1]


async def test_a_reading_not_saved_is_entered_again_under_the_set_up_by_then(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.full = True
    await press(pilot, "51", "enter")
    disk.full = False
    await press(pilot, "f4")
    await press(pilot, "50-1/16", "enter")
    await press(pilot, "escape")
    assert words(app).startswith("Was the laser moved?")
    await press(pilot, "escape")
    await press(pilot, "enter")
    assert words(app) == "The laser was moved; finish the new setup before you read on."
    assert (typed(app), readings(job)) == ("51", [])
    await press(pilot, "f4")
    await press(pilot, "enter")
    assert typed(app) == "51", "what was not saved is still there"
    await press(pilot, "enter")
    assert readings(job) == [("P1", "finish", "51")]
    assert app.session is not None
    state = app.session.state
    shot = state.latest(Surface("path", "P1", "finish"))
    assert shot is not None
    assert state.setup is not None
    assert shot.setup == state.setup.id
    assert verdict(app) == "ON GRADE"


async def test_where_both_were_saved_after_all_each_leans_on_its_own_set_up(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.lies = True
    await press(pilot, "51", "enter")
    disk.lies = False
    await press(pilot, "f4")
    await press(pilot, "50-1/16", "enter", "enter")
    await press(pilot, "enter")
    assert readings(job) == [("P1", "finish", "51")] * 2
    assert app.session is not None
    state = app.session.state
    first, second = state.shots[Surface("path", "P1", "finish")]
    assert first.setup != second.setup
    assert state.setup is not None
    assert second.setup == state.setup.id


async def test_a_backsight_saved_after_all_is_not_taken_twice(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    await press(pilot, "f4")
    disk = Disk(app, monkeypatch)
    disk.lies = True
    await press(pilot, "50", "enter")
    assert words(app) == FULL
    disk.lies = False
    await app._look_at_journal()  # what a timer does every second or two
    await press(pilot, "enter")
    assert recorded(job, "backsight") == [("backsight", "DOOR=50")]
    assert len(recorded(job, "moved")) == 1


async def test_readings_behind_one_that_was_not_saved_are_not_taken(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = Disk(app, monkeypatch)
    disk.full = True
    await press(pilot, "51", "enter", "51-1/2", "enter")
    assert (typed(app), readings(job), point(app)) == ("51", [], "P1")
    assert words(app) == f"{ON_CHECK}  Not taken either: “51-1/2”."


async def test_a_full_disk_is_said_on_every_screen_and_ends_nothing(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with running(app) as pilot:
        await press(pilot, "51-1/16", "enter")
        before = recorded(job)
        Disk(app, monkeypatch).full = True
        await press(pilot, "f8")
        assert words(app) == ON_CHECK
        assert verdict(app) == "ON GRADE", "what could not be struck stands"
        for key, text in (("f6", "a note"), ("f4", "48"), ("f5", "50"), ("f7", "49")):
            await press(pilot, key)
            await press(pilot, text, "enter")
            assert (words(app), typed(app)) == (FULL, text)
            await press(pilot, "escape")
            await press(pilot, "escape")
        assert recorded(job) == before
    assert app.return_code is None


async def test_a_journal_that_went_away_is_said_and_ends_nothing(
    pilot: Pilot[int], app: GradeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    await press(pilot, "51-1/16", "enter")

    def gone(*_: object, **__: object) -> None:
        raise JournalError("The journal can't be read: the stick was taken out.")

    assert app.session is not None
    for verb in ("lines", "find", "entries", "first_and_last"):
        monkeypatch.setattr(app.session.journal, verb, gone)
    await press(pilot, "f8")
    assert words(app) == "The journal can't be read: the stick was taken out."
    await press(pilot, "f6")
    assert words(app) == "The journal can't be read: the stick was taken out."


@pytest.mark.parametrize("key", ["f12", "ctrl+q"])
async def test_leaving_waits_for_what_was_entered(
    app: GradeApp, job: Path, key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with running(app) as pilot:
        disk = Disk(app, monkeypatch)
        disk.open.clear()
        try:
            post(pilot, "51", "enter", "51-1/2", "enter", key)
            await disk.reached()
        finally:
            disk.open.set()
        while app.return_code is None:
            await asyncio.sleep(0)
    assert app.return_code == 0
    assert [name for name, _, _ in readings(job)] == ["P1", "P2"]


async def test_a_signal_that_ends_the_app_waits_for_what_was_entered(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with running(app) as pilot:
        disk = Disk(app, monkeypatch)
        disk.open.clear()
        try:
            post(pilot, "51", "enter", "51-1/2", "enter", "5")
            await disk.reached()
            while typed(app) != "5":
                await asyncio.sleep(0)
            ending = asyncio.create_task(app._end())  # all that the handler of SIGTERM and SIGHUP does
            await asyncio.sleep(0)
        finally:
            disk.open.set()
        await ending
    assert [name for name, _, _ in readings(job)] == ["P1", "P2"]


async def test_the_journal_is_let_go_when_the_app_ends(app: GradeApp, job: Path, clock: Clock) -> None:
    async with running(app):
        pass
    assert app.session is not None
    with pytest.raises(JournalError):
        app.session.lines()


async def test_on_a_slow_disk_the_letters_say_not_saved_yet(
    pilot: Pilot[int], app: GradeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    await press(pilot, "51-3/16", "enter")
    disk = Disk(app, monkeypatch)
    disk.open.clear()
    try:
        post(pilot, "51-1/4", "enter")
        await disk.reached()
        while verdict(app) != "NOT SAVED":
            await asyncio.sleep(0.01)
    finally:
        disk.open.set()
    await settle(pilot)
    assert verdict(app) == "FILL 1/4"
