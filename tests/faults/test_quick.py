"""Each harness in its quick form: nothing comes out wrong, and what was broken on purpose is caught."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.app.driving import SCREENS
from tests.faults import (
    bit_flips,
    clocks,
    disk_faults,
    full_disk,
    fuzz,
    hostile,
    joined,
    keys,
    kills,
    mailed,
    meeting,
    missing,
    model,
    network,
    office,
    power_cuts,
    rewritten,
    sizes,
    soak,
    writers,
)
from tests.faults.__main__ import HARNESSES, SEED, main, run
from tests.faults.figures import Figures, table


def quick(harness: ModuleType, folder: Path) -> list[Figures]:
    """The figures of its quick form; right, or their table is what fails."""
    rows = run(harness, folder / "run", runs=harness.QUICK, seed=SEED)
    assert all(row.right for row in rows), f"\n{table(rows)}"
    assert any(row.control for row in rows), "without a control nobody knows whether it would see anything"
    return rows


@pytest.mark.thorough
def test_every_reading_called_saved_is_there_once_after_each_kill(tmp_path: Path) -> None:
    figures, _ = quick(kills, tmp_path)
    assert figures.counts["acknowledged"] > figures.counts["kills"]


@pytest.mark.thorough
def test_every_entry_called_saved_is_there_once_after_each_power_cut(tmp_path: Path) -> None:
    figures, *_ = quick(power_cuts, tmp_path)
    assert figures.counts["acknowledged"] > figures.counts["cuts"]


@pytest.mark.thorough
def test_a_failing_disk_loses_nothing_called_saved(
    tmp_path: Path,
) -> None:
    rows = quick(disk_faults, tmp_path)
    assert all(row.counts["refused"] for row in rows if row.what != "delete EIO, all done")


@pytest.mark.skipif(sys.platform != "linux", reason="only there can a running program's files be kept from growing")
@pytest.mark.thorough
def test_on_a_full_disk_the_screen_says_not_saved_and_keeps_what_was_typed(
    tmp_path: Path,
) -> None:
    figures, _ = quick(full_disk, tmp_path)
    assert figures.counts["refused"] > 0


@pytest.mark.thorough
def test_a_flipped_bit_is_noticed_or_was_one_that_held_nothing(tmp_path: Path) -> None:
    figures, _, *beside = quick(bit_flips, tmp_path)
    assert figures.counts["noticed"] > figures.counts["harmless"] > 0
    for row in beside:
        assert row.control or row.counts["noticed"] == row.counts["flips"] == bit_flips.QUICK


@pytest.mark.thorough
def test_whatever_is_done_in_several_windows_comes_to_what_plain_sums_say(tmp_path: Path) -> None:
    figures, *_ = quick(model, tmp_path)
    assert figures.counts["entries"] > 5 * figures.counts["days"]


def test_four_windows_write_one_chain_with_nothing_lost_or_doubled(tmp_path: Path) -> None:
    figures, _ = quick(writers, tmp_path)
    assert figures.counts["acknowledged"] == len(writers.WRITERS) * writers.QUICK


@pytest.mark.thorough
def test_a_share_with_an_office_cut_anywhere_loses_and_doubles_nothing(tmp_path: Path) -> None:
    shares, *_ = quick(office, tmp_path)
    assert all(shares.counts[happening] for happening in office.HAPPENINGS)


@pytest.mark.thorough
def test_laptops_sharing_by_a_folder_lose_and_double_nothing(tmp_path: Path) -> None:
    histories, *_ = quick(meeting, tmp_path)
    assert histories.counts["entries"] > 2 * histories.counts["histories"]
    assert histories.counts["cut short"] > histories.counts["killed"] / 2
    assert all(histories.counts[happening] for happening in meeting.HAPPENINGS)


@pytest.mark.thorough
def test_joined_whichever_way_all_laptops_show_what_a_plain_model_says(tmp_path: Path) -> None:
    figures, _ = quick(joined, tmp_path)
    assert figures.counts["ways"] == 16 * figures.counts["histories"]
    assert figures.counts["copied or restored"] > 0


@pytest.mark.thorough
def test_whatever_the_clock_shows_the_order_is_that_of_the_work(
    tmp_path: Path,
) -> None:
    figures, *_ = quick(clocks, tmp_path)
    assert figures.counts["entries"] > figures.counts["clocks"] > len(clocks.TRICKS)


@pytest.mark.thorough
def test_whatever_comes_in_is_understood_or_refused_in_our_own_words(tmp_path: Path) -> None:
    rows = quick(fuzz, tmp_path)
    for row in rows:
        assert row.counts["understood"] > 0, f"nothing that is understood gets far: {row.what}"
        assert row.counts["refused"] > 0


@pytest.mark.thorough
def test_no_character_is_lost_while_windows_change_size(tmp_path: Path) -> None:
    screens, taken, _ = quick(sizes, tmp_path)
    assert screens.counts["screens"] == len(SCREENS)
    assert screens.counts["sizes"] >= 2 * len(SCREENS)
    assert taken.counts["readings"] == sizes.QUICK // 2


@pytest.mark.thorough
def test_in_a_whole_day_nothing_goes_out(tmp_path: Path) -> None:
    day, _ = quick(network, tmp_path)
    assert day.counts["commands"] == len(network.DAY.splitlines())


@pytest.mark.thorough
def test_after_a_week_every_number_of_the_last_daily_report_is_as_by_hand(
    tmp_path: Path,
) -> None:
    week, report, *_ = quick(soak, tmp_path)
    assert week.counts["acknowledged"] >= soak.QUICK
    assert all(week.counts[happening] for happening in soak.HAPPENINGS)
    assert report.counts["numbers"] > 20 * report.counts["readings"] > 0


@pytest.mark.thorough
def test_hostile_names_are_shown_as_they_are_and_do_nothing(tmp_path: Path) -> None:
    screens, told, terminal, refused, *_ = quick(hostile, tmp_path)
    assert screens.counts["screens"] > len(SCREENS)
    assert told.counts["answers"] > 0
    assert terminal.counts["sequences"] > 0
    assert refused.counts["plans"] > 0


def test_a_mailed_job_touches_its_own_folder_and_only_to_save(tmp_path: Path) -> None:
    figures, _ = quick(mailed, tmp_path)
    assert figures.counts["saved"] > 0
    assert figures.counts["refused"] > 0


def test_no_copy_that_holds_more_is_lost_whatever_became_of_the_journal(tmp_path: Path) -> None:
    figures, _ = quick(missing, tmp_path)
    assert figures.counts["refused"] > 0
    assert figures.counts["saved"] > figures.counts["gone"] / 2


@pytest.mark.thorough
def test_a_rewritten_journal_is_found_by_all_that_was_kept(tmp_path: Path) -> None:
    figures, *_ = quick(rewritten, tmp_path)
    assert figures.counts["found"] == len(rewritten.MEANS) * (figures.counts["journals"] - rewritten.QUICK // 9)
    assert figures.counts["named"] > 0


@pytest.mark.thorough
def test_no_keys_end_the_app_but_those_that_leave_it(tmp_path: Path) -> None:
    figures, _ = quick(keys, tmp_path)
    assert figures.counts["keys"] >= keys.QUICK
    assert figures.counts["screens"] == keys.REACHED


def test_all_harnesses_stand_behind_one_command(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["power-cuts", "--runs", "3", "--seed", "5"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0].split()[:2] == ["harness", "what"]
    assert any("cuts 3," in line for line in said)
    with pytest.raises(SystemExit):
        main(["earthquakes"])
    text = capsys.readouterr().err
    assert all(harness.NAME.replace(" ", "-") in text for harness in HARNESSES)
