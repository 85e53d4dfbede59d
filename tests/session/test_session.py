"""The one door for changes: refused leaves no trace, written comes before told, and all windows know the same."""

from __future__ import annotations

import contextlib
import dataclasses
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path

import psutil
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.checks.verdict import Verdict
from gradecheck.journal.facts import Draft, Entry, PlanRevised, Reading, Rehearsed, Void
from gradecheck.journal.store import Journal, NotSavedError
from gradecheck.measure.quantities import Elevation, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.report.log import LogRow, log_row, set_up_of
from gradecheck.session.session import Session, job_folder
from gradecheck.state.preview import verdicts
from gradecheck.state.state import Shot, State, Surface, fold
from tests.journal_strategies import JOB, days, everything_known, sixteenths
from tests.strategies import examples

W1, W2, C1 = Surface("walk", "W1", "finish"), Surface("walk", "W2", "finish"), Surface("court", "C1", "finish")
MORNING = datetime(2031, 4, 7, 8, 30, tzinfo=timezone(timedelta(hours=2)))


@dataclasses.dataclass
class Clock:
    """A clock that stands still until it is set."""

    time: datetime = MORNING

    def __call__(self) -> datetime:
        return self.time


def shown(figures: Sequence[int]) -> datetime:
    """What a clock shows: year, month, day, hour, minute, and the hours it is ahead of UTC."""
    year, month, day, hour, minute, ahead = figures
    return datetime(year, month, day, hour, minute, tzinfo=timezone(timedelta(hours=ahead)))


@pytest.fixture
def clock() -> Clock:
    """The clock of all windows of a test."""
    return Clock()


@pytest.fixture
def window(tmp_path: Path, clock: Clock) -> Iterator[Callable[[], Session]]:
    """Opens another window on one job, as many as are asked for."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with contextlib.ExitStack() as at_the_end:

        def opened() -> Session:
            session = Session(tmp_path, by="RK", laptop="field laptop", clock=clock)
            at_the_end.callback(session.close)
            return session

        yield opened


@pytest.fixture
def session(window: Callable[[], Session]) -> Session:
    """One window on a job where nothing has happened yet."""
    return window()


def _stand_and_read(session: Session, *readings: tuple[Surface, str]) -> list[Entry]:
    """The instrument set up on DOOR at 48, and those readings; the plane is then at +48."""
    done = [session.record(actions.set_up(session.state, "DOOR", "48"))]
    return done + [session.record(actions.reading(session.state, surface, typed)) for surface, typed in readings]


def _facts(session: Session) -> list[str]:
    return [entry.kind for entry in session.journal.entries()]


# -- adopting one entry at a time ends where folding everything ends


def _as_draft(entry: Entry) -> Draft:
    return Draft(**{field.name: getattr(entry, field.name) for field in dataclasses.fields(Draft)})


@examples(120)
@given(days(), st.lists(st.integers(1, 4), max_size=8))
def test_entries_adopted_one_by_one_give_the_state_of_the_whole_journal(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry], portions: list[int]
) -> None:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder)
    written = session.journal.append([_as_draft(entry) for entry in entries]) if entries else []
    left = list(written)
    for portion in [*portions, len(left)]:
        session.adopt(left[:portion])
        left = left[portion:]
    reopened = Session(folder)
    try:
        assert session.seq == reopened.seq == len(entries)
        assert everything_known(session.state) == everything_known(fold(session.plan, written))
        assert everything_known(session.state) == everything_known(reopened.state)
    finally:
        session.close()
        reopened.close()


@examples(30)
@given(days(most=12))
def test_each_entry_adopted_gives_the_state_of_the_journal_up_to_it(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry]
) -> None:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder)
    try:
        for count, entry in enumerate(entries, 1):
            session.adopt(session.journal.append([_as_draft(entry)]))
            assert everything_known(session.state) == everything_known(fold(session.plan, entries[:count]))
    finally:
        session.close()


# -- refused


REFUSALS: dict[str, tuple[Callable[[Session], object], str]] = {
    "reading-before-any-setup": (
        lambda s: s.draft(actions.reading(s.state, W1, "50")),
        "No setup; set up on a mark first",
    ),
    "setup-on-an-unknown-mark": (lambda s: s.draft(actions.set_up(s.state, "DOR", "48")), "DOOR"),
    "setup-on-an-unknown-rod": (
        lambda s: s.draft(actions.set_up(s.state, "DOOR", "48", "old rod")),
        "There is no rod",
    ),
    "setup-on-no-mark": (lambda s: s.draft(actions.set_up_on(s.state, [])), "at least one mark"),
    "setup-on-no-backsights-taken": (lambda s: s.draft(actions.finish_setup(s.state)), "at least one mark"),
    "backsight-that-is-no-length": (
        lambda s: s.draft(actions.set_up(s.state, "DOOR", "48 1/3")),
        "1/3 is on no tape",
    ),
    "backsight-of-nothing": (lambda s: s.draft(actions.set_up(s.state, "DOOR", "")), "Nothing was typed"),
    "backsight-in-no-unit": (lambda s: s.draft(actions.set_up(s.state, "DOOR", "48 cubits")), "cubits"),
    "the-same-mark-twice": (lambda s: s.draft(actions.set_up_on(s.state, [("DOOR", "48"), ("door", "48")])), "twice"),
    "striking-what-is-not-there": (lambda s: s.strike("nobody", "x"), "There is no entry"),
    "correcting-what-is-not-there": (lambda s: s.correct("nobody", "48"), "There is no entry"),
    "an-entry-by-a-number-nobody-has": (lambda s: s.entry("7"), "There is no entry"),
    "an-entry-by-a-number-no-file-could-hold": (lambda s: s.entry("9" * 30), "There is no entry"),
    "an-entry-by-a-number-of-thousands-of-digits": (lambda s: s.entry("9" * 5000), "There is no entry"),
    "an-entry-by-bytes-that-are-no-text": (lambda s: s.entry("\udcff"), "There is no entry"),
    "a-note-of-nothing": (lambda s: s.draft(actions.note("  \n ")), "Nothing was typed"),
    "a-note-too-long": (lambda s: s.draft(actions.note("rain " * 99)), "say it in 200"),
    "a-note-that-no-file-can-hold": (lambda s: s.draft(actions.note("rain \udcff")), "can't be kept"),
    "nothing-to-move": (lambda s: s.draft(actions.moved(s.state, "spoil")), "nothing to move"),
    "nothing-in-doubt": (lambda s: s.draft(actions.answer_doubt(s.state, "seen")), "Nothing is in doubt"),
    "a-datum-not-tied": (lambda s: s.draft(actions.show_datum(s.state, "street")), "tied in yet"),
    "initials-that-are-none": (lambda s: s.identify("4"), "Initials are"),
}


@pytest.mark.parametrize("refused", REFUSALS)
def test_what_is_refused_is_refused_with_a_sentence_and_leaves_no_trace(session: Session, refused: str) -> None:
    ask, says = REFUSALS[refused]
    told: list[object] = []
    session.listen(told.append)
    before = everything_known(session.state)
    with pytest.raises(Refusal, match=says):
        ask(session)
    assert everything_known(session.state) == before
    assert told == []
    assert session.seq == 0
    assert [found.name for found in session.folder.iterdir()] == ["job.yaml"]


REFUSED_ON_SITE: dict[str, tuple[Callable[[Session, Entry], object], str]] = {
    "a-point-that-is-not-there": (
        lambda s, _: s.draft(actions.reading(s.state, Surface("walk", "W9", "finish"), "50")),
        "The plan has no W9",
    ),
    "a-stage-that-is-not-there": (
        lambda s, _: s.draft(actions.reading(s.state, Surface("court", "C1", "base"), "50")),
        "no C1 at base",
    ),
    "an-area-whose-datum-is-not-tied": (
        lambda s, _: s.draft(actions.reading(s.state, Surface("verge", "V1", "finish"), "50")),
        "tied in yet",
    ),
    "a-reading-that-is-a-name": (lambda s, _: s.draft(actions.reading(s.state, W1, "W2")), "is not a length"),
    "a-reason-that-is-none": (lambda s, read: s.strike(read.id, " "), "why it is struck"),
    "a-correction-that-is-no-length": (lambda s, read: s.correct(read.id, "4 9/8"), "a whole or more"),
    "striking-the-plan": (lambda s, _: s.strike(s.entry("1").id, "x"), "A plan in the journal can't be struck"),
    "a-mark-named-like-a-point": (
        lambda s, _: s.draft(actions.mark(s.state, "w1", "50")),
        "a point or benchmark of the plan already",
    ),
}


@pytest.mark.parametrize("refused", REFUSED_ON_SITE)
def test_what_is_refused_on_site_leaves_state_and_journal_as_they_were(session: Session, refused: str) -> None:
    ask, says = REFUSED_ON_SITE[refused]
    read = _stand_and_read(session, (W1, "48 1/2"))[-1]
    before, rows = everything_known(session.state), _facts(session)
    told: list[object] = []
    session.listen(told.append)
    with pytest.raises(Refusal, match=says):
        ask(session, read)
    assert (everything_known(session.state), _facts(session), told) == (before, rows, [])


def test_a_draft_alone_changes_nothing(session: Session) -> None:
    _stand_and_read(session)
    before = everything_known(session.state)
    session.draft(actions.reading(session.state, W1, "50"))
    session.draft(actions.set_up(session.state, "KERB", "12"))
    session.draft(actions.note("rain"))
    assert everything_known(session.state) == before
    assert session.journal.last_seq == session.seq


def test_nobody_records_anything_without_initials(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(tmp_path)
    with pytest.raises(Refusal, match="enter yours first"):
        session.draft(actions.set_up(session.state, "DOOR", "48"))
    session.identify(" rk ")
    assert session.record(actions.set_up(session.state, "DOOR", "48")).by == "RK"
    session.close()


def test_a_job_file_that_is_wrong_opens_no_session(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text("job: x\n", encoding="utf-8")
    with pytest.raises(PlanProblemsError):
        Session(tmp_path)


# -- written, then told


def test_an_entry_is_on_disk_before_anyone_is_told(session: Session) -> None:
    def rows(entries: Sequence[Entry]) -> None:
        # A connection of its own sees only what is committed.
        with contextlib.closing(sqlite3.connect(session.journal.path)) as other:
            on_disk = {found for (found,) in other.execute("SELECT id FROM entry")}
        told.append((on_disk, {entry.id for entry in entries}, session.state.verdict(W1)))

    told: list[tuple[set[str], set[str], object]] = []
    _stand_and_read(session)
    session.listen(rows)
    entry = session.record(actions.reading(session.state, W1, "48 1/2"))
    ((on_disk, news, verdict),) = told
    assert news == {entry.id}
    assert news <= on_disk
    assert verdict is not None


def test_a_written_entry_counts_only_once_it_is_adopted(session: Session) -> None:
    _stand_and_read(session)
    written = session.write(session.draft(actions.reading(session.state, W1, "48 1/2")))
    assert session.state.latest(W1) is None
    session.adopt(written)
    assert session.state.latest(W1) is not None
    session.adopt(written)
    assert len(session.state.shots[W1]) == 1


def test_the_text_of_the_plan_is_kept_before_the_first_entry(window: Callable[[], Session]) -> None:
    first = window()
    _stand_and_read(first, (W1, "50"))
    assert _facts(first) == ["plan", "set-up", "reading"]
    again = window()
    again.record(actions.reading(again.state, W2, "50"))
    assert _facts(again) == ["plan", "set-up", "reading", "reading"]


REVISED = JOB.replace("W1: {elevation: -1/2 in", "W1: {elevation: -1 in")


def test_a_changed_job_file_is_taken_only_when_told(
    window: Callable[[], Session],
) -> None:
    first = window()
    _stand_and_read(first, (W1, "50"))
    (first.folder / "job.yaml").write_text(REVISED, encoding="utf-8")
    later = window()
    before = later.state.target(W1)
    entry = later.record(actions.reading(later.state, W1, "50"))
    assert _facts(later) == ["plan", "set-up", "reading", "reading"]
    assert entry.plan == later.digest == first.digest
    changes = later.offered_changes
    assert changes is not None
    assert {moved.point for moved in changes.moved} == {"W1", "W2", "W3"}
    assert changes.largest is not None
    assert abs(changes.largest.by) == inches(Fraction(1, 2))
    later.record(later.accept_plan())
    assert later.offered is None
    after = later.state.target(W1)
    assert before is not None
    assert after is not None
    assert before.wanted.above(after.wanted) == inches(Fraction(1, 2))
    texts = [found.fact.text for found in later.journal.entries() if isinstance(found.fact, PlanRevised)]
    assert texts == [JOB, REVISED]
    assert later.record(actions.reading(later.state, W1, "50")).plan == later.digest != first.digest
    with pytest.raises(Refusal, match="nothing to accept"):
        later.accept_plan()


def test_an_open_job_notices_a_change_and_who_took_it(
    window: Callable[[], Session],
) -> None:
    here, there = window(), window()
    _stand_and_read(here, (W1, "50"))
    assert not here.plan_file.refresh()
    (here.folder / "job.yaml").write_text(REVISED, encoding="utf-8")
    assert here.plan_file.refresh()
    assert here.offered is not None
    there.catch_up()
    there.plan_file.refresh()
    there.record(there.accept_plan())
    here.catch_up()
    assert here.offered is None
    assert here.digest == there.digest
    assert everything_known(here.state) == everything_known(there.state)


def test_an_unreadable_job_file_leaves_the_plan_in_force(
    window: Callable[[], Session],
) -> None:
    here = window()
    _stand_and_read(here, (W1, "50"))
    (here.folder / "job.yaml").write_text("job: [", encoding="utf-8")
    assert here.plan_file.refresh()
    assert here.plan_file.wrong is not None
    assert here.offered is None
    here.record(actions.reading(here.state, W1, "50"))


def test_what_was_not_saved_is_shown_nowhere_and_saved_once_the_next_time(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[object] = []
    session.listen(told.append)
    draft = session.draft(actions.set_up(session.state, "DOOR", "48"))
    real = Journal.append

    def saved_but_nobody_can_see(journal: Journal, drafts: Sequence[Draft]) -> list[Entry]:
        real(journal, drafts)
        raise NotSavedError("NOT SAVED: the disk reports disk I/O error. The journal can't be read now; try again.")

    def not_saved(journal: Journal, drafts: Sequence[Draft]) -> list[Entry]:
        raise NotSavedError("NOT SAVED: the disk is full.")

    for fault in (not_saved, saved_but_nobody_can_see):
        with monkeypatch.context() as broken:
            broken.setattr(Journal, "append", fault)
            with pytest.raises(NotSavedError):
                session.record(draft)
        assert session.state.setup is None
        assert told == []
    session.record(draft)
    assert _facts(session) == ["plan", "set-up"]
    assert session.state.setup is not None
    assert len(told) == 1


def test_a_retry_of_which_part_is_there_loses_nothing_written_between(
    window: Callable[[], Session],
) -> None:
    one = window()
    first = one.draft(actions.set_up(one.state, "DOOR", "48"))
    one.write(first)  # it is there, but nobody saw it: it is not adopted
    other = window()
    other.record(actions.reading(other.state, W1, "50"))
    retry = one.write(first, one.draft(actions.note("rain")))
    assert [entry.seq for entry in retry] == [1, 2, 4]
    one.adopt(retry)
    assert one.state.latest(W1) is not None
    assert not one.catch_up()
    assert everything_known(one.state) == everything_known(window().state)


def test_an_entry_tells_who_when_where_and_as_typed(session: Session) -> None:
    _, read = _stand_and_read(session, (W1, "48-1/2 "))
    assert (read.by, read.laptop, read.window, read.plan) == ("RK", "field laptop", session.window, session.digest)
    assert (read.at, read.offset) == (MORNING, 120)
    assert read.at.utcoffset() == timedelta(0)
    assert read.typed == "48-1/2 "
    assert isinstance(read.fact, Reading)
    assert read.fact.rod == inches(48) + sixteenths(8)
    assert read.fact.judged.word is Word.ON_GRADE


def test_a_backsight_on_several_marks_at_once_is_one_entry(session: Session) -> None:
    entry = session.record(actions.set_up_on(session.state, [("DOOR", "48"), ("kerb", "52")]))
    assert entry.typed == "DOOR=48 kerb=52"
    assert session.state.setup is not None
    assert session.state.setup.instrument is not None
    assert session.state.setup.instrument.zero.height == inches(48)


def test_whoever_wrote_last_is_who_the_next_window_takes_it_to_be(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    first = Session(tmp_path, by="AB")
    first.record(actions.note("dry"))
    first.close()
    second = Session(tmp_path / "job.yaml")
    assert second.by == "AB"
    assert second.folder == job_folder(tmp_path / "job.yaml") == tmp_path
    second.close()


# -- striking and correcting


def test_a_mistyped_backsight_put_right_moves_all_its_readings(session: Session) -> None:
    stood, *_ = _stand_and_read(session, (W1, "50"), (W2, "52"))
    session.record(session.correct(stood.id, "49"))
    # 49 − 50 and 49 − 52
    assert [session.state.found(session.state.shots[surface][-1]).height for surface in (W1, W2)] == [
        inches(-1),
        inches(-3),
    ]
    assert session.state.setup is not None
    assert session.state.setup.id == stood.id


@pytest.mark.parametrize("change", [lambda s, id: s.strike(id, "x"), lambda s, id: s.correct(id, "48")])
def test_that_a_journal_is_a_rehearsal_can_be_neither_struck_nor_put_right(
    session: Session, change: Callable[[Session, str], Draft]
) -> None:
    made_up = session.record(Action(Rehearsed(41)))
    with pytest.raises(Refusal, match="A rehearsal stays a rehearsal"):
        change(session, made_up.id)


def test_of_several_backsights_the_one_to_put_right_must_be_named(session: Session) -> None:
    stood = session.record(actions.set_up_on(session.state, [("DOOR", "48"), ("KERB", "42")]))
    with pytest.raises(Refusal, match="say which, like DOOR="):
        session.correct(stood.id, "52")
    with pytest.raises(Refusal, match="no backsight on “LID”"):
        session.correct(stood.id, "LID=52")
    session.record(session.correct(stood.id, "kerb = 52"))
    assert session.state.setup is not None
    assert session.state.setup.instrument is not None
    assert session.state.setup.instrument.zero.height == inches(48)


def _taken(session: Session, mark: str, typed: str) -> Entry:
    return session.record(*actions.backsight(session.state, mark, typed))


WENT_INTO = "went into the setup, entry 5: strike that, or correct it with KERB=READING"


def test_a_backsight_that_a_set_up_stands_on_is_struck_and_put_right_there(session: Session) -> None:
    _taken(session, "DOOR", "48")
    slip, kerb = _taken(session, "KERB", "46"), _taken(session, "KERB", "44")
    stood = session.record(actions.finish_setup(session.state))
    assert (kerb.seq, stood.seq) == (4, 5)
    before = everything_known(session.state)
    with pytest.raises(Refusal, match=f"Entry 4 {WENT_INTO}"):
        session.strike(kerb.id, "wrong bolt")
    with pytest.raises(Refusal, match=f"Entry 4 {WENT_INTO}"):
        session.correct(kerb.id, "52")
    assert everything_known(session.state) == before
    session.record(session.strike(slip.id, "keyed anew"))  # the setup never had that figure
    right = session.record(session.correct(stood.id, "KERB=52"))
    with pytest.raises(Refusal, match=f"Entry 4 went into the setup, entry {right.seq}: "):
        session.strike(kerb.id, "wrong bolt")


def test_a_backsight_that_no_set_up_stands_on_is_struck_and_taken_anew(session: Session) -> None:
    door = _taken(session, "DOOR", "48")
    with pytest.raises(Refusal, match="Entry 2 isn't part of a setup that counts; take the backsight on DOOR again"):
        session.correct(door.id, "47")
    session.record(session.strike(door.id, "wrong bolt"))
    again = _taken(session, "DOOR", "47")
    stood = session.record(actions.finish_setup(session.state))
    session.record(session.strike(stood.id, "tripod slipped"))
    session.record(actions.set_up(session.state, "DOOR", "40"))  # another, in which nothing of the first counts
    session.record(session.strike(again.id, "tripod slipped"))
    assert session.state.setup is not None
    assert session.state.setup.instrument is not None
    assert session.state.setup.instrument.zero.height == inches(40)


def _row_of_its_set_up(session: Session, taken: Entry) -> LogRow | None:
    rows = [log_row(session.state, line) for line in session.lines(limit=99)]
    return set_up_of(session.state, next(row for row in rows if row.id == taken.id), rows)


def test_a_backsight_keyed_before_a_move_goes_into_no_later_setup(session: Session) -> None:
    _stand_and_read(session)
    taken = _taken(session, "DOOR", "48")
    stood = session.record(actions.set_up(session.state, "DOOR", "48"))
    assert (row := _row_of_its_set_up(session, taken)) is not None
    assert row.id == stood.id
    late = _taken(session, "DOOR", "40")
    session.record(session.strike(session.entry(str(late.seq - 1)).id, "not yet"))  # that the first one was given up
    session.record(actions.moved(session.state, "truck in the way"))
    session.record(actions.set_up(session.state, "DOOR", "40"))
    assert _row_of_its_set_up(session, late) is None
    session.record(session.strike(late.id, "keyed before the truck came"))


def test_the_log_and_a_strike_name_the_same_set_up_for_a_backsight(session: Session) -> None:
    door, slip, kerb = (_taken(session, *each) for each in (("DOOR", "48"), ("KERB", "46"), ("KERB", "52")))
    stood = session.record(actions.finish_setup(session.state))
    right = session.record(session.correct(stood.id, "KERB=52-1/16"))
    assert [row and row.seq for row in (_row_of_its_set_up(session, each) for each in (door, slip, kerb))] == [
        right.seq,
        None,
        right.seq,
    ]
    session.record(session.strike(stood.id, "tripod slipped"))
    assert _row_of_its_set_up(session, door) is None
    session.record(session.strike(door.id, "tripod slipped"))


def test_an_entry_corrected_twice_and_struck_goes_by_any_of_its_numbers(session: Session) -> None:
    *_, read = _stand_and_read(session, (W1, "50"))
    right = session.record(session.correct(read.id, "48"))
    righter = session.record(session.correct(read.id, "48-1/2"))
    assert righter.replaces == right.id
    assert session.state.verdict(W1).word is Word.ON_GRADE
    session.record(session.strike(right.id, "string line, not paver"))
    assert session.state.latest(W1) is None
    with pytest.raises(Refusal, match=r"Entry 3 is already struck: string line, not paver\."):
        session.strike(read.id, "again")
    with pytest.raises(Refusal, match="already struck"):
        session.correct(righter.id, "49")


def test_a_reading_of_a_struck_set_up_is_read_again_rather_than_put_right(session: Session) -> None:
    stood, read = _stand_and_read(session, (W1, "50"))
    session.record(session.strike(stood.id, "tripod slipped"))
    with pytest.raises(Refusal, match=r"\(setup was struck\); read W1 again"):
        session.correct(read.id, "48")
    assert session.state.setup is None
    with pytest.raises(Refusal, match="No setup; set up on a mark first"):
        session.draft(actions.reading(session.state, W1, "50"))


def test_a_note_holds_no_figure_to_put_right(session: Session) -> None:
    note = session.record(actions.note("rain since noon", "walk"))
    with pytest.raises(Refusal, match="no rod reading"):
        session.correct(note.id, "48")
    session.record(session.strike(note.id, "wrong day"))
    assert [line.replaced_by is not None for line in session.lines("walk")] == [False, True, False]


def test_the_last_reading_is_the_last_that_stands_with_its_figure(session: Session) -> None:
    assert session.last_reading() is None
    _, first, second = _stand_and_read(session, (W1, "50"), (W2, "52"))
    assert session.last_reading() == second
    right = session.record(session.correct(second.id, "51"))
    assert session.last_reading() == right
    session.record(session.strike(second.id, "x"))
    assert session.last_reading() == first


def test_a_mark_made_of_a_reading_follows_it_until_struck_itself(
    window: Callable[[], Session],
) -> None:
    session = window()
    *_, read = _stand_and_read(session, (W1, "50"))
    made = session.record(actions.promote(session.state, W1))
    session.record(session.correct(read.id, "49"))
    assert session.state.mark("W1") == window().state.mark("W1") == Elevation(inches(-1).metres)
    session.record(session.strike(made.id, "too soft to stand a rod on"))
    session.record(session.correct(read.id, "50"))
    assert session.state.mark("W1") is window().state.mark("W1") is None


def test_readings_since_the_last_look_count_alike_whatever_was_corrected(
    window: Callable[[], Session],
) -> None:
    session = window()
    _, first, second, _ = _stand_and_read(session, (W1, "50"), (W2, "52"), (C1, "51"))
    look = session.record(actions.recheck(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W1, "50"))
    session.record(session.correct(first.id, "50 1/2"))

    def since(one: Session) -> int:
        assert one.state.setup is not None
        return one.state.readings_since_look(one.state.setup.id)

    assert since(session) == since(window()) == 1
    session.record(session.strike(look.id, "another mark"))
    session.record(session.correct(second.id, "52 1/2"))
    assert since(session) == since(window()) == 4


def test_of_two_answers_to_a_doubt_one_struck_leaves_the_other(window: Callable[[], Session]) -> None:
    session = window()
    _stand_and_read(session, (W1, "50"))
    session.record(actions.recheck(session.state, "DOOR", "49"))
    answers = [
        session.draft(actions.answer_doubt(session.state, "checked with a string")),
        session.draft(actions.answer_doubt(session.state, "and with a straightedge")),
    ]
    assert len(session.state.doubts()) == 1
    one, _ = (session.record(answer) for answer in answers)
    assert session.state.doubts() == []
    session.record(session.strike(one.id, "the string sagged"))
    assert session.state.doubts() == window().state.doubts() == []


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda s, stood, read: s.correct(stood.id, "47"), id="backsight-corrected"),
        pytest.param(lambda s, stood, read: s.strike(stood.id, "slipped"), id="setup-struck"),
        pytest.param(lambda s, stood, read: s.correct(read.id, "48 1/2"), id="reading-corrected"),
        pytest.param(lambda s, stood, read: s.strike(read.id, "slipped"), id="reading-struck"),
        pytest.param(lambda s, stood, read: s.draft(actions.note("rain")), id="note-added"),
    ],
)
def test_a_preview_says_what_recording_then_does(
    session: Session, change: Callable[[Session, Entry, Entry], Draft]
) -> None:
    stood, _, read = _stand_and_read(session, (W2, "50"), (W1, "50"), (C1, "51"))[:3]
    draft = change(session, stood, read)
    rows, before = _facts(session), verdicts(session.state)
    told = session.preview(draft)
    assert (_facts(session), verdicts(session.state)) == (rows, before)
    session.record(draft)
    after = verdicts(session.state)
    moved = [
        after[surface].difference - was.difference
        for surface, was in before.items()
        if was and after.get(surface) and after[surface].difference != was.difference
    ]
    assert told.moved == len(moved)
    assert abs(told.largest) == max(map(abs, moved), default=inches(0))
    words = {surface: was.word for surface, was in before.items() if was}
    now = {surface: verdict.word for surface, verdict in after.items() if verdict}
    assert set(told.changed) == {surface for surface in before if words.get(surface) != now.get(surface)}


def test_a_preview_reads_no_entry_anew_and_judges_only_what_it_may_change(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, _, read = _stand_and_read(session, (W2, "50"), (W1, "50"), (C1, "51"))[:3]
    judged = list[Surface]()
    judge = State.judge

    def counted(state: State, shot: Shot, surface: Surface) -> Verdict | None:
        judged.append(surface)
        return judge(state, shot, surface)

    monkeypatch.setattr(State, "judge", counted)
    monkeypatch.setattr(Journal, "entries", lambda *_, **__: pytest.fail("the log was read anew"))
    assert session.preview(session.correct(read.id, "48 1/2")).moved == 1
    assert judged == [W1, W1]
    judged.clear()
    stood = session.state.newest_setup
    assert stood is not None
    assert session.preview(session.correct(stood.id, "47")).moved == 3
    assert len(judged) == 5  # W1 as it is was judged a moment ago


def test_a_preview_names_what_goes_in_doubt_and_not_what_is_already(session: Session) -> None:
    _stand_and_read(session, (W1, "48-1/2"))
    assert session.preview(actions.recheck(session.state, "DOOR", "49")).doubted == (W1,)
    session.record(actions.recheck(session.state, "DOOR", "49"))
    assert session.preview(actions.note("rain")).doubted == ()


# -- what was read today


def test_the_cautions_are_read_once_a_day_by_each_person(session: Session, clock: Clock) -> None:
    assert not session.cautions_read_today
    session.record(actions.cautions(["Call before you dig."]))
    assert session.cautions_read_today
    session.identify("MO")
    assert not session.cautions_read_today, "each person reads them"
    session.identify("RK")
    clock.time = MORNING + timedelta(days=1)
    assert not session.cautions_read_today


@pytest.mark.parametrize(
    ("read", "now"),
    [
        ((2026, 5, 11, 17, 0, -8), (2026, 5, 12, 11, 20, 10)),  # the laptop showed yesterday, and was set right
        ((2026, 5, 11, 16, 0, -5), (2026, 5, 12, 22, 0, 9)),  # the next morning, 8:00 at -5, in another zone
        ((2026, 5, 12, 8, 0, 9), (2026, 5, 12, 7, 0, -5)),  # 18:00 of the day before, in another zone
    ],
)
def test_cautions_are_of_the_day_that_their_own_clock_showed(
    session: Session, clock: Clock, read: Sequence[int], now: Sequence[int]
) -> None:
    clock.time = shown(read)
    session.record(actions.cautions(["Call before you dig."]), actions.set_up(session.state, "DOOR", "48"))
    assert session.cautions_read_today
    assert session.cautioned_today
    clock.time = shown(now)
    assert not session.cautions_read_today
    assert not session.cautioned_today
    session.record(actions.cautions(["Call before you dig."]))
    assert session.cautions_read_today


# -- yesterday's setup


def test_yesterdays_setup_is_not_read_from_until_a_mark_is_rechecked(session: Session, clock: Clock) -> None:
    _stand_and_read(session, (W1, "48 1/2"))
    clock.time = MORNING + timedelta(days=1)
    assert session.why_set_up_is_old
    with pytest.raises(Refusal, match="from another day"):
        session.draft(actions.reading(session.state, W2, "50"))
    look = session.record(actions.recheck(session.state, "DOOR", "48"))
    assert not session.why_set_up_is_old
    session.record(actions.reading(session.state, W2, "50"))
    session.record(session.strike(look.id, "that was another mark"))
    assert session.why_set_up_is_old


def test_midnight_is_where_the_crew_is_not_in_utc(session: Session, clock: Clock) -> None:
    # 23:30 on one day and 00:30 on the next, two hours ahead of UTC, are the same day there.
    clock.time = MORNING.replace(hour=23)
    _stand_and_read(session)
    assert not session.why_set_up_is_old
    clock.time += timedelta(hours=1, minutes=30)
    assert session.why_set_up_is_old


@pytest.mark.parametrize(
    ("looked", "now", "is_old"),
    [
        ((2026, 5, 11, 17, 0, -8), (2026, 5, 12, 11, 20, 10), False),  # 20 minutes on, the laptop set right
        ((2026, 5, 12, 11, 20, 10), (2026, 5, 11, 17, 40, -8), False),  # and set wrong again
        ((2026, 5, 11, 16, 0, -5), (2026, 5, 12, 22, 0, 9), True),  # a night between, though both are the 12th at +9
        ((2026, 5, 12, 8, 0, 9), (2026, 5, 12, 7, 0, -5), True),  # a night between, though both clocks show the 12th
        ((2026, 5, 12, 8, 0, -5), (2026, 5, 12, 15, 0, -8), False),  # a day's work across zones
        ((2026, 5, 12, 0, 10, -5), (2026, 5, 12, 23, 30, -8), True),  # 26 hours and 20 minutes
    ],
)
def test_no_zone_hides_the_night_since_the_last_look(
    session: Session, clock: Clock, looked: Sequence[int], now: Sequence[int], *, is_old: bool
) -> None:
    clock.time = shown(looked)
    session.record(actions.set_up(session.state, "DOOR", "48"))
    assert not session.why_set_up_is_old
    clock.time = shown(now)
    assert bool(session.why_set_up_is_old) is is_old
    session.record(actions.recheck(session.state, "DOOR", "48"))
    assert not session.why_set_up_is_old


# -- two windows


def test_two_windows_on_one_job_know_the_same_once_they_caught_up(window: Callable[[], Session]) -> None:
    one, other = window(), window()
    stood, read = _stand_and_read(one, (W1, "50"))
    assert other.state.setup is None
    assert other.catch_up()
    assert not other.catch_up()
    assert everything_known(other.state) == everything_known(one.state)
    other.record(other.correct(stood.id, "47"))
    other.record(other.strike(read.id, "wrong point"))
    assert one.catch_up()
    assert everything_known(other.state) == everything_known(one.state)
    assert one.state.latest(W1) is None


def test_a_window_that_writes_first_takes_over_what_another_wrote(window: Callable[[], Session]) -> None:
    one, other = window(), window()
    _stand_and_read(one)
    other.catch_up()
    told: list[list[str]] = []
    other.listen(lambda news: told.append([entry.kind for entry in news]))
    one.record(actions.reading(one.state, W1, "50"))
    one.record(actions.note("rain"))
    other.record(actions.reading(other.state, W2, "52"))
    assert told == [["reading", "note", "reading"]]
    one.catch_up()
    assert everything_known(one.state) == everything_known(other.state)
    assert one.seq == other.seq == 5


def test_of_two_windows_that_strike_the_same_reading_the_second_is_told_so(window: Callable[[], Session]) -> None:
    one, other = window(), window()
    *_, read = _stand_and_read(one, (W1, "50"))
    other.catch_up()
    late = other.strike(read.id, "keyed twice")
    one.record(one.strike(read.id, "wrong point"))
    with pytest.raises(NotSavedError, match="another window struck or replaced that entry first"):
        other.record(late)
    other.catch_up()
    with pytest.raises(Refusal, match="already struck: wrong point"):
        other.strike(read.id, "keyed twice")
    assert everything_known(one.state) == everything_known(other.state)
    assert sum(isinstance(entry.fact, Void) for entry in one.journal.entries()) == 1


def test_a_journal_shown_whole_or_by_area_is_the_same_after_reopening(window: Callable[[], Session]) -> None:
    one = window()
    _stand_and_read(one, (W1, "50"), (C1, "51"))
    one.record(actions.note("rain", "court"))
    reopened = window()
    for area in (None, "walk", "court"):
        assert reopened.lines(area) == one.lines(area)
    assert [line.entry.kind for line in one.lines("court")] == ["plan", "set-up", "reading", "note"]
    assert reopened.journal.verify() == one.journal.verify()
    assert one.journal.verify().fault is None


# -- what does not open


def test_a_job_that_can_t_be_opened_leaves_no_file_open(
    tmp_path: Path, window: Callable[[], Session], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = window()
    first.record(actions.set_up(first.state, "DOOR", "48"))

    def opened() -> list[str]:
        files = psutil.Process().open_files()
        return [each.path for each in files if each.path.startswith(str(tmp_path))]

    assert opened() != []
    first.close()

    def out_of_memory(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("gradecheck.session.session.fold", out_of_memory)
    with pytest.raises(MemoryError) as kept:  # its traceback holds on to everything, as a caller's would
        Session(tmp_path)
    assert opened() == []
    assert kept.value
