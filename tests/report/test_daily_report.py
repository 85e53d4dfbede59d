"""The daily report tells all of a day and nothing else, each number with the entry it came from."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.journal.facts import Reading, SetupMade
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import inches
from gradecheck.report.checks import over_dig_result
from gradecheck.report.daily_report import DailyReport, days_of
from gradecheck.report.day_book import PrintedLength
from gradecheck.report.day_export import area_csv, day_json, message, with_unit
from gradecheck.report.day_paper import Words, owners_page, record
from gradecheck.report.day_readings import DayReading
from gradecheck.report.log import log_row
from gradecheck.report.review import Chosen, open_lines, stage_rows
from gradecheck.report.rows import point_row
from gradecheck.state.as_built import over_dug
from gradecheck.state.state import Surface
from tests.faults.by_hand_report import read_out
from tests.report.day import DAY, Site, a_day
from tests.strategies import examples
from tests.whole import has


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A day's work, recorded."""
    made = a_day(tmp_path / "court")
    yield made
    made.session.close()


@pytest.fixture
def report(site: Site) -> DailyReport:
    """Its report."""
    return site.report()


def readings(report: DailyReport) -> dict[tuple[str, str], DayReading]:
    """The readings by stage and point."""
    return {
        (stage.stage, each.point): each for area in report.areas for stage in area.stages for each in stage.readings
    }


def test_the_head_says_job_day_weather_crew_and_who_recorded(report: DailyReport) -> None:
    assert (report.job, report.day, report.weekday) == ("Quillmere Court", "2026-05-12", "Tuesday")
    assert [(each.what, each.why) for each in report.described] == [("dry, 12 C", "Rosalind, Mateo")]
    assert report.people == ("RK (15 entries)", "MT (15 entries)")
    assert report.zero == "from the job's zero: DOOR is 0 in, PIN is -4 3/8 in"
    assert report.instrument.good_for == (
        "beam within 10 seconds (1/16 in in 100 ft), receiver within 1/32 in, longest shot 60 ft"
    )
    assert report.rehearsal == ""


def test_every_reading_that_counts_is_there_in_the_strings_of_the_screen(site: Site, report: DailyReport) -> None:
    told = readings(report)
    state = site.session.state
    assert len(told) == sum(len(shots) for shots in state.shots.values()) == 8
    for (stage, point), each in told.items():
        row = point_row(state, Surface(state.plan.area_of[point], point, stage))
        assert (each.target.text, each.found.text, each.off.text) == (row.wanted, row.found, row.off)
        assert each.what == row.what
        assert each.now.startswith(row.word)


def test_every_number_of_a_reading_is_traced_to_the_entry_that_holds_it(site: Site, report: DailyReport) -> None:
    entries = {line.entry.seq: line for line in site.session.all_lines()}
    for (stage, point), each in readings(report).items():
        line = entries[each.seq]
        fact = line.entry.fact
        assert isinstance(fact, Reading)
        assert (fact.point, fact.stage, fact.rod) == (point, stage, each.rod.length)
        assert line.replaced_by is None
        assert entries[each.setup].entry.kind == "set-up"
        assert (each.then, each.time, each.by) == (
            (row := log_row(site.session.state, line)).then,
            row.time,
            row.by,
        )


def test_a_correction_stands_in_its_place_and_both_are_listed(report: DailyReport) -> None:
    corrected = readings(report)["base", "Y3"]
    assert (corrected.rod.text, corrected.off.text, corrected.now) == ("55 15/16", "-1/16", "ON GRADE")
    assert has(corrected.remark, "corrects no. 7")
    struck = {each.kind: each for each in report.struck}
    assert (struck["struck"].what, struck["struck"].why) == (
        "no. 8 reading Y4 base, 55-7/8, ON GRADE",
        "rod on a stone",
    )
    assert struck["corrected"].what == "no. 7 reading Y3 base (questioned), 56-3/8, FILL 1/2"
    assert struck["corrected"].why == "now reads, 55-15/16, ON GRADE"
    assert ("base", "Y4") not in readings(report)


def test_set_ups_tell_their_marks_their_height_and_how_they_agree(report: DailyReport) -> None:
    first, second = report.instrument.set_ups
    assert first.stands == "site rod on DOOR 50 in, PIN 54 3/8 in; HI 50 in"
    assert [(mark.mark, mark.zero, mark.off) for mark in first.marks] == [
        ("DOOR", "50 in", "0"),
        ("PIN", "50 in", "0"),
    ]
    assert first.agreement.startswith("They agree exactly (allowed 1/8 in)")
    assert (first.readings, second.readings) == (7, 1)
    assert second.agreement.startswith("One turning point only: no check on this setup.")
    look = report.instrument.rechecks[0]
    assert (look.mark, look.off.text, look.then, look.now) == ("PIN", "-1/16 in", "OK", "OK")
    assert [each.what for each in report.instrument.marks] == ["TP1 = DOOR 0 + 50 − 48 1/4 = 1 3/4 in"]
    assert report.instrument.circuits[0].startswith("DOOR - PIN: 1 setup, misclosure 0 in")


def test_a_failed_recheck_puts_readings_in_doubt_and_both_say_so(site: Site) -> None:
    site.session.record(actions.recheck(site.session.state, "DOOR", "41"))
    site.session.record(actions.answer_doubt(site.session.state, "the string line agrees"))
    report = site.report()
    assert has(report.instrument.set_ups[1].disturbed, "FOUND DISTURBED by the recheck no. 31")
    path = readings(report)["finish", "P1"]
    assert (path.doubt, path.remark) == (False, "doubted, trusted")
    assert [each.what for each in report.trusted] == ["1 reading trusted: the string line agrees"]
    site.session.record(site.session.strike(site.session.lines(limit=1)[0].entry.id, "it does not"))
    path = readings(site.report())["finish", "P1"]
    assert (path.doubt, path.remark) == (True, "IN DOUBT")
    assert not path.now.startswith("in doubt"), "the doubt has a column of its own"


def test_a_point_read_again_says_which_entry_counts_now(site: Site) -> None:
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    site.read("Y2", "53-3/8")
    stage = next(stage for area in site.report().areas for stage in area.stages if stage.stage == "base")
    both = [each for each in stage.readings if each.point == "Y2"]
    assert [(each.latest, each.now) for each in both] == [(False, "CUT 1/2"), (True, "ON GRADE")]
    assert both[0].remark == f"read again, no. {both[1].seq}; questioned, kept"


def test_stages_say_what_is_allowed_who_changed_it_and_what_was_not_read(report: DailyReport) -> None:
    yard, path = report.areas
    assert [stage.stage for stage in yard.stages] == ["subgrade", "base"]
    assert yard.stages[1].allowed == "3/8 high, 3/8 low (the plan)"
    assert yard.stages[1].unread == ("Y4", "Y5")
    assert path.stages[0].allowed == "1/4 high, 1/4 low (changed on site, no. 27)"
    assert yard.stages[1].signed.startswith("MT 12 May")


def test_checks_over_dig_and_squareness_show_limits_and_who_sets_them(site: Site, report: DailyReport) -> None:
    yard = report.areas[0]
    lippage = [told for stage in yard.stages for told in stage.checks if told.section == "gauged"]
    assert [(told.says, told.verdict) for told in lippage] == [("lippage 3/16 in, by Y3", "fault")]
    assert [each.what for each in yard.gauged] == ["lippage 3/16 in by Y3"]
    dug = over_dug(site.session.state, "yard")
    assert dug is not None
    assert dict(report.over_dig)["yard"] == over_dig_result(dug, site.session.plan.notation)
    assert "worst 1/2 in at Y2" in dict(report.over_dig)["yard"].says
    assert report.over_dig_total in dict(report.over_dig)["yard"].says
    layout = report.layouts[0]
    assert [(tape.between, tape.taped.text) for tape in layout.tapes[4:]] == [
        ("A to C", "169 3/4 in"),
        ("B to D", "169 11/16 in"),
    ]
    used = {(each.what, each.limit) for each in report.limits}
    for told in (*lippage, *(told for stage in yard.stages for told in stage.checks)):
        assert not told.limit or (told.section, told.limit) in used


def test_changes_and_sign_offs_are_told_with_their_reasons(report: DailyReport) -> None:
    assert [each.what for each in report.changes][1:] == [
        "path finish tolerance now +1/4 -1/4: the owner agrees",
        "Y5 added: −3 1/2 in as given on site",
    ]
    signed = report.signed[0]
    assert (signed.by, signed.area, signed.stage) == ("MT", "yard", "base")
    assert (signed.accepted, signed.unread, signed.remark) == (("Y2",), ("Y4", "Y5"), "owner saw Y2")
    assert [each.what for each in report.notes] == ["gate left open"]


def test_the_sheet_ends_with_the_journals_last_entry_its_hash_and_the_plan(site: Site, report: DailyReport) -> None:
    last = site.session.lines(limit=1)[0].entry
    assert (report.trace.journal_last, report.trace.journal_hash) == (last.seq, last.hash)
    assert (report.trace.first, report.trace.last, report.trace.entries) == (1, last.seq, last.seq)
    assert report.trace.plan == site.session.digest


def test_another_day_is_another_sheet_and_names_what_it_leans_on(site: Site) -> None:
    site.start += timedelta(days=1)
    session = site.session
    session.record(actions.set_up(session.state, "DOOR", "50"))
    site.read("Y4", "55-7/8")
    late = next(line.entry for line in session.lines() if line.entry.kind == "reading" and line.entry.seq == 5)
    session.record(session.strike(late.id, "wrong point"))
    lines = session.all_lines()
    assert days_of(lines) == [DAY, DAY + timedelta(days=1)]
    second = site.report(DAY + timedelta(days=1))
    assert list(readings(second)) == [("base", "Y4")]
    assert second.areas[0].stages[0].earlier == ("Y2 no. 6 (2026-05-12)", "Y3 no. 10 (2026-05-12)")
    first = site.report()
    assert ("base", "Y1") not in readings(first)
    assert first.struck[-1].when.startswith("2026-05-13 "), "what became of the day's entries later is told there too"
    assert first.open == ()
    assert second.open


def test_readings_are_counted_on_the_day_of_their_own_clock(
    tmp_path: Path,
) -> None:
    site = Site(tmp_path / "court")  # the laptop still shows another zone, where it is the day before
    site.start = datetime(2026, 5, 11, 17, tzinfo=timezone(timedelta(hours=-8)))
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    site.start = datetime(2026, 5, 12, 11, 30, tzinfo=timezone(timedelta(hours=10)))
    site.read("Y1", "53-3/8")
    report = site.report()
    assert len(report.areas[0].stages[0].readings) == 1
    assert [(row.stage, row.read, row.within) for row in report.summary] == [("base", 1, 1)]
    site.session.close()


class _Travelling(Site):
    """A site whose clock shows what it is set to."""

    def now(self) -> datetime:
        return self.start


_ZONES = st.sampled_from((0, -300, -240, -480, 540, 570, 345, 765, 840, -720))
"""Minutes ahead of UTC, from one side of the day line to the other."""


@examples(40)
@example(
    [(0, -300), (400, -300), (60, 540), (60, 540), (60, -300)]
)  # set to the other side of the world for two hours
@example([(0, 840), (10, -720), (10, 840)])  # the day before yesterday, ten minutes on
@example([(900, -240), (60, -300), (30, -300)])  # an hour of the evening that comes twice
@given(st.lists(st.tuples(st.integers(-200, 2_000), _ZONES), min_size=2, max_size=9))
def test_in_any_zone_each_entry_is_of_the_day_its_clock_showed(
    drawn: list[tuple[int, int]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        site = _Travelling(Path(folder))
        session, moment = site.session, datetime(2026, 5, 11, 11, tzinfo=UTC)
        wanted: dict[str, list[int]] = {}
        for number, (minutes, ahead) in enumerate(drawn):
            moment += timedelta(minutes=minutes)
            site.start = moment.astimezone(timezone(timedelta(minutes=ahead)))
            before = session.all_lines()[-1].entry.seq if number else 0
            if number == 0:
                session.record(
                    actions.cautions(["Call before you dig."]), actions.set_up(session.state, "DOOR", "50")
                )
            elif session.why_set_up_is_old:
                session.record(actions.recheck(session.state, "DOOR", "50"))
            site.read(f"Y{number % 4 + 1}", "53-3/8", ("subgrade", "base", "finish")[number // 4])
            session.record(actions.note(f"note {number}"))
            last = session.all_lines()[-1].entry.seq
            wanted.setdefault(f"{site.start:%Y-%m-%d}", []).extend(range(before + 1, last + 1))
        lines = session.all_lines()
        by_seq = {line.entry.seq: line.entry for line in lines}
        assert sorted(f"{day}" for day in days_of(lines)) == sorted(wanted)
        assert f"{days_of(lines)[-1]}" == f"{site.start:%Y-%m-%d}"
        for day, seqs in wanted.items():
            told = site.report(date.fromisoformat(day))
            assert told.trace.entries == len(seqs)
            assert (told.trace.first, told.trace.last) == (seqs[0], seqs[-1])
            read = [seq for seq in seqs if by_seq[seq].kind == "reading"]
            assert sorted(each.seq for each in readings(told).values()) == read
            assert [each.seq for each in told.notes] == [seq for seq in seqs if by_seq[seq].kind == "note"]
            assert [each.seq for each in told.instrument.rechecks] == [
                seq for seq in seqs if by_seq[seq].kind == "recheck"
            ]
            assert sum(row.read for row in stage_rows(session.state, lines, Chosen(day))) == len(read)
            assert [row.seq for row in (log_row(session.state, line) for line in lines) if row.day == day] == seqs
        session.close()


def test_a_question_counts_once_however_often_its_reading_is_put_right(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    site.session.record(actions.set_up(site.session.state, "DOOR", "50"))
    doubtful = actions.reading(site.session.state, Surface("yard", "Y1", "base"), "52-3/8", "an inch?")
    asked = site.session.record(doubtful).id
    site.session.record(site.session.correct(asked, "53-3/8"))
    assert [(row.questioned, row.within) for row in site.report().summary] == [(1, 1)]
    site.session.close()


def test_a_turning_point_taken_anew_is_shown_by_the_sum_that_carried_it(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    session = site.session
    for backsight, rod in (("50", "48"), ("41", "40-1/2")):
        session.record(actions.set_up(session.state, "TP1" if session.state.newest_setup else "DOOR", backsight))
        session.record(actions.mark(session.state, "TP1", rod))
    session.record(actions.set_up_on(session.state, [("TP1", "47-1/2"), ("DOOR", "50")]))
    instrument = site.report().instrument
    assert [each.what for each in instrument.marks] == [
        "TP1 = DOOR 0 + 50 − 48 = 2 in",
        "TP1 = DOOR 0 + 50 − 48 + 41 − 40 1/2 = 2 1/2 in",
    ]
    assert instrument.circuits[0] == (
        "DOOR - TP1 of entry 3 - TP1 of entry 5 - DOOR: 3 setups, misclosure 0 in, allowed 1/8 in: it closes."
    )
    session.close()


def test_a_day_nobody_recorded_anything_is_empty_and_not_wrong(site: Site) -> None:
    report = site.report(date(2026, 5, 14))
    assert (report.areas, report.people, report.struck, report.trace.entries) == ((), (), (), 0)
    assert report.trace.journal_hash


def test_a_rehearsal_says_so_first(tmp_path: Path) -> None:
    site = a_day(tmp_path / "court", rehearsed=True)
    assert site.report().rehearsal == "REHEARSAL, made up from seed 41"
    assert message(site.report()).startswith("REHEARSAL, made up from seed 41.\n")
    site.session.close()


# -- a setup whose marks disagree


def test_a_setup_that_disagrees_is_said_first_until_another_replaces_it(tmp_path: Path) -> None:
    """PIN at -4 3/8 reads 53 where 48 on DOOR wants 52 3/8: 5/8 apart."""
    site = Site(tmp_path / "court")
    session = site.session
    sights = [("DOOR", "48"), ("PIN", "53")]
    session.record(actions.set_up_on(session.state, sights, why="wind on the rod"))
    site.read("Y1", "49")
    said = "SETUP DISAGREES by 5/8 in (allowed 1/8 in): wind on the rod"
    report = site.report()
    assert report.instrument.disagrees == said
    assert f"{said}. Set up again." in report.open
    assert f"{said}." in message(report)
    assert said in json.dumps(day_json(report))
    on_paper = [block for block in owners_page(report) if isinstance(block, Words)]
    assert on_paper[0].pieces == ((f"{said}.", "strong"),)
    assert open_lines(session.state)[1:] == [f"  {each}" for each in report.open]
    session.record(actions.moved(session.state, "spoil"), actions.set_up(session.state, "DOOR", "48"))
    site.read("Y2", "49")
    after = site.report()
    assert after.instrument.disagrees == ""
    assert "SETUP DISAGREES" not in json.dumps(day_json(after)) + message(after) + " ".join(after.open)
    record_of = " ".join(text for block in record(after) if isinstance(block, Words) for text, _ in block.pieces)
    assert "THEY DISAGREE by 5/8 in (allowed 1/8 in)." in record_of
    assert "Used anyway: wind on the rod." in record_of
    session.close()


def test_no_reason_is_kept_of_a_setup_whose_marks_agree(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    state = site.session.state
    fact = actions.set_up_on(state, [("DOOR", "48"), ("PIN", "52-3/8")], why="wind").fact
    assert isinstance(fact, SetupMade)
    assert fact.why == ""
    site.session.close()


# -- the map


def test_the_map_shows_each_point_where_it_lies_with_how_it_was_found(report: DailyReport) -> None:
    drawn = report.areas[0].map
    assert drawn is not None
    assert (drawn.stage, drawn.feet, [each.name for each in drawn.scene.unplaced]) == ("base", True, ["Y5"])
    side = 10 * 0.3048
    assert [(each.name, each.at, each.style.value, each.figure) for each in drawn.scene.points] == [
        ("Y1", (0, 0), "on", "0"),
        ("Y2", (pytest.approx(side), 0), "high", "+1/2"),
        ("Y3", (0, pytest.approx(side)), "on", "-1/16"),
        ("Y4", (pytest.approx(side), pytest.approx(side)), "unread", ""),
    ]
    assert report.areas[1].map is None, "one point without a place makes no map"


# -- exports


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+7", "-7", "\tx"])
def test_no_text_in_a_csv_can_be_taken_for_a_formula(report: DailyReport, text: str) -> None:
    area = report.areas[0]
    reading = dataclasses.replace(area.stages[0].readings[0], point=text, what=text, remark=text)
    stage = dataclasses.replace(area.stages[0], stage=text, readings=(reading,))
    row = next(csv.DictReader(io.StringIO(area_csv(report, dataclasses.replace(area, name=text, stages=(stage,))))))
    assert {row[column] for column in ("area", "stage", "point", "what", "remark")} == {f"'{text}"}


def test_csv_keeps_numbers_as_numbers_and_texts_safe(report: DailyReport) -> None:
    rows = list(csv.DictReader(io.StringIO(area_csv(report, report.areas[0]))))
    high = next(row for row in rows if row["point"] == "Y2" and row["stage"] == "base")
    assert float(high["off (in)"]) == 0.5
    assert (float(high["target (in)"]), float(high["rod (in)"]), float(high["found (in)"])) == (
        -3.375,
        52.875,
        -2.875,
    )
    assert (high["off text"], high["target text"], high["now"]) == ("'+1/2 in", "'-3 3/8 in", "CUT 1/2")
    for row in rows:
        assert (row["log to entry"], row["hash"]) == (
            str(report.trace.journal_last),
            read_out(report.trace.journal_hash),
        )
        for column, cell in row.items():
            assert column.endswith("(in)") or cell[:1] not in ("=", "+", "-", "@", "\t", "\r")


@pytest.mark.parametrize(
    ("text", "units", "told"),
    [
        ("3/8", Units.IN, "3/8 in"),
        ("4' 3 1/2\"", Units.FT_IN, "4' 3 1/2\""),
        ("4.35", Units.FT, "4.35 ft"),
        ("4.35 ft", Units.IN, "4.35 ft"),
        ("no setup", Units.IN, "no setup"),
    ],
)
def test_a_text_for_other_programs_says_its_unit(text: str, units: Units, told: str) -> None:
    length = None if text == "no setup" else inches(1)
    assert with_unit(PrintedLength(text, length), units) == told


def test_json_holds_everything_with_lengths_in_millimetres_and_words(report: DailyReport) -> None:
    answer = json.loads(json.dumps(day_json(report)))
    assert set(answer) == set(DailyReport.__dataclass_fields__) - {"map"}, "a picture of the rest"
    high = next(each for each in answer["areas"][0]["stages"][1]["readings"] if each["point"] == "Y2")
    assert high["off"] == {"mm": 12.7, "text": "+1/2 in"}
    assert answer["trace"]["journal_hash"] == report.trace.journal_hash
    assert answer["trace"]["journal_hash_short"] == read_out(report.trace.journal_hash)


def test_the_message_has_ten_lines_at_most_and_says_what_is_out(report: DailyReport) -> None:
    lines = message(report).splitlines()
    assert len(lines) <= 10
    assert lines[0] == "Quillmere Court, 2026-05-12: 8 readings by RK, MT."
    assert "yard, base: 3 of 5 read, 2 on grade; out: Y2 CUT 1/2" in lines
    assert [line for line in lines if " OUT: " in line] == ["1 check OUT: yard: lippage 3/16 in, by Y3"]
    assert any(line.startswith("Over-dig so far: ") and "yard: 1 of 4 below target" in line for line in lines)
    assert lines[-1] == f"Log to entry {report.trace.journal_last}, hash {read_out(report.trace.journal_hash)}."
