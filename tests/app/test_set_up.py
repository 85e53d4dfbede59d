"""Setup: the rod on marks, one after the other, and the zero is where the instrument stands."""

from __future__ import annotations

from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.app.widgets.verdict_panel import PanelShape, VerdictPanel
from gradecheck.measure.quantities import Slope, inches
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import (
    JOB,
    Clock,
    begins,
    check,
    press,
    readings,
    ready_job,
    recorded,
    running,
    shown,
    typed,
    verdict,
    words,
    write_job,
)
from tests.thorough import some


def unset(jobs: Path, clock: Clock) -> GradeApp:
    """A job nobody has worked on."""
    return GradeApp(jobs, write_job(jobs / "court"), clock=clock)


async def test_a_figure_and_two_enters_on_a_mark_stand_the_instrument(jobs: Path, clock: Clock) -> None:
    app = unset(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "rk", "enter")
        assert words(app) == "DOOR: what does the site rod (standard, in) read there?"
        await press(pilot, "48-1/4", "enter")
        assert "DOOR       rod 48 1/4 in: HI 48 1/4 in" in shown(app)
        assert words(app).endswith("Press Enter alone to finish.")
        await press(pilot, "enter")
        assert isinstance(app.screen, CheckScreen)
        # P1 wants -1, so the rod shall read 48 1/4 + 1.
        assert words(app) == "P1 (by the hall): the rod should read 49 1/4"
    assert [kind for kind, _ in recorded(jobs / "court")] == ["plan", "cautions", "backsight", "set-up"]


async def test_all_that_is_told_of_a_setup_is_in_sight_in_a_small_window(jobs: Path, clock: Clock) -> None:
    """A plan that names an instrument has more to tell: where the laser is, and that one mark checks nothing."""
    said = JOB.replace("benchmarks:", "instrument: {beam: 10 arcsec, longest shot: 60 ft}\nbenchmarks:", 1)
    app = GradeApp(jobs, write_job(jobs / "court", said), clock=clock)
    async with running(app, size=(60, 20)) as pilot:
        await press(pilot, "rk", "enter")
        await press(pilot, "48-1/4", "enter")
        assert "Setup uncertainty" in " ".join(shown(app).split())
        assert "Setup isn't finished; no readings until it is." in shown(app)


async def test_no_reading_is_taken_before_the_instrument_stands(jobs: Path, clock: Clock) -> None:
    app = unset(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "rk", "enter")
        await press(pilot, "escape")
        assert words(app) == "P1 (by the hall): no setup. Press F4 to set up."
        await press(pilot, "51", "enter")
        assert words(app) == "No setup; set up on a mark first."
        assert typed(app) == "51"
        await press(pilot, "ctrl+u", "f4")
        await press(pilot, "50", "enter", "escape")
        await press(pilot, "51", "enter")
        assert readings(jobs / "court") == [], "one backsight is taken, but the instrument does not stand on it yet"


async def test_a_backsight_on_each_mark_leads_to_the_next_and_to_their_mean(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter")
    assert words(app).startswith("PIN:")
    await press(pilot, "52-1/2", "enter")  # PIN at -4 3/8 gives 48 1/8, an eighth above the other
    assert "They agree within 1/8 in (allowed 1/8 in); the mean is taken." in shown(app)
    await press(pilot, "enter")
    assert words(app) == "P1 (by the hall): the rod should read 49 1/16"


async def test_setting_up_has_a_header_of_its_own(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    assert "SETTING UP" in words(app, "head")
    assert "setup on DOOR 07:30" in words(app, "head"), "nothing was entered, so that one stands"
    await press(pilot, "48", "enter")
    assert "1 mark read" in words(app, "head")
    assert "NOT FINISHED" in words(app, "head")
    assert "setup on DOOR" not in words(app, "head")


THREE = JOB.replace("build-ups:", "  KERB: {elevation: -6, what: top of the kerb}\nbuild-ups:", 1)
"""The same job with a third mark."""


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(60, 20)]), ids="{0[0]}x{0[1]}".format)
async def test_marks_that_disagree_are_said_in_large_letters(size: tuple[int, int], jobs: Path, clock: Clock) -> None:
    """48 on DOOR, and PIN at -4 3/8 reads 52 13/16: it gives 48 7/16, which is 7/16 more."""
    app = GradeApp(jobs, ready_job(jobs / "court", clock, THREE), clock=clock)
    async with running(app, size) as pilot:
        await press(pilot, "f4")
        before = app.screen.query_one(VerdictPanel)
        assert before.face.shape is PanelShape.EMPTY
        assert before.display == (size == (120, 40)), "before it names the mark, where there is room"
        await press(pilot, "48", "enter", "52-13/16", "enter")
        panel = app.screen.query_one(VerdictPanel)
        assert panel.display
        assert panel.face.large == "DISAGREE 7/16"
        assert panel.face.shape is PanelShape.FILLED
        drawn = shown(app).splitlines()[panel.region.y : panel.region.bottom]
        assert sum("█" in line for line in drawn) >= 5, "as letters, not as a line of text"
        assert panel.size.width == size[0]
        for said in ("> KERB", "Setup isn't finished", "press Enter alone and type why", "what the rod reads"):
            assert said in " ".join(shown(app).split())
        await press(pilot, "48", "enter")  # KERB at -6 would read 54
        assert app.screen.query_one(VerdictPanel).face.large != "DISAGREE 7/16"
        await press(pilot, "f8")
        assert app.screen.query_one(VerdictPanel).face.large == "DISAGREE 7/16"


async def test_the_panel_grows_with_the_window(jobs: Path, clock: Clock) -> None:
    tall = []
    for place, size in enumerate(((60, 20), (80, 30), (120, 40))):
        app = GradeApp(jobs, ready_job(jobs / f"court{place}", clock, THREE), clock=clock)
        async with running(app, size) as pilot:
            await press(pilot, "f4")
            await press(pilot, "48", "enter", "52-13/16", "enter")
            tall.append(app.screen.query_one(VerdictPanel).size.height)
    assert tall == sorted(set(tall))
    assert tall[-1] >= 9


async def test_of_three_marks_the_odd_one_is_named_and_f8_drops_it(jobs: Path, clock: Clock) -> None:
    """DOOR 48 and KERB 54 both give 48, PIN reads half an inch too much."""
    app = GradeApp(jobs, ready_job(jobs / "court", clock, THREE), clock=clock)
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "48", "enter", "52-7/8", "enter")
        assert "a third mark" in " ".join(shown(app).split())
        await press(pilot, "54", "enter")
        assert "PIN is the odd one: F8 drops it." in " ".join(shown(app).split())
        await press(pilot, "f8")
        assert words(app).startswith("Struck: PIN=52-7/8.")
        assert "They agree exactly" in shown(app)
        assert not app.screen.query_one(VerdictPanel).display
        await press(pilot, "enter")
        assert isinstance(app.screen, CheckScreen)
        assert "DISAGREE" not in words(app, "head")


@pytest.mark.parametrize("why", some(["yes", "y", "ok", "PINN"], ["yes", "PINN"]))
async def test_what_is_no_reason_does_not_stand_a_setup_whose_marks_disagree(
    why: str, pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    """A yes says nothing to whoever reads it later, and a mark's name with a slip in it was meant for the mark."""
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter", "enter")
    await press(pilot, why, "enter")
    assert isinstance(app.screen, SetUpScreen)
    assert len(recorded(job, "set-up")) == 1
    await press(pilot, "escape", "wind on the rod", "enter")
    assert isinstance(app.screen, CheckScreen)


@pytest.mark.parametrize(
    "key", some(["f5", "f6", "f7", "f9", "ctrl+e", "ctrl+y", "ctrl+r", "ctrl+x"], ["f6", "f9", "ctrl+r"])
)
async def test_every_title_says_the_setup_disagrees_until_it_is_replaced(
    key: str, pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter", "enter", "wind on the rod", "enter")
    await press(pilot, key)
    assert not isinstance(app.screen, CheckScreen)
    assert "SETUP DISAGREES 5/8 in" in shown(app).splitlines()[0]
    assert "wind on" in shown(app).splitlines()[0]
    await press(pilot, "escape")
    assert "SETUP DISAGREES 5/8 in" in shown(app).splitlines()[0]
    await press(pilot, "f4")
    assert "SETUP DISAGREES 5/8 in" in shown(app).splitlines()[0]
    await press(pilot, "48", "enter", "enter")
    assert "DISAGREES" not in shown(app)
    await press(pilot, key)
    assert "DISAGREES" not in shown(app)


async def test_the_day_says_by_how_much_the_setup_disagrees_and_why_it_is_used(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter", "enter", "wind on the rod", "enter")
    await press(pilot, "f9")
    said = "SETUP DISAGREES by 5/8 in (allowed 1/8 in): wind on the rod."
    assert said in " ".join(shown(app).split())
    await press(pilot, "escape")
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "enter", "f9")
    assert "DISAGREES" not in shown(app)


async def test_marks_that_disagree_stand_only_for_a_reason_and_the_head_says_so(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter")
    assert "THEY DISAGREE by 5/8 in" in shown(app)
    await press(pilot, "enter")
    assert isinstance(app.screen, SetUpScreen)
    assert words(app).startswith("The marks disagree by 5/8 in (allowed 1/8 in).")
    await press(pilot, "enter")
    assert len(recorded(job, "set-up")) == 1, "Enter alone does not do"
    await press(pilot, "wind on the rod", "enter")
    assert isinstance(app.screen, CheckScreen)
    assert recorded(job, "set-up")[1:] == [("set-up", "")]
    assert "SETUP DISAGREES 5/8 in" in words(app, "head")
    assert "wind on the rod" in words(app, "head")
    assert app.session is not None
    line = log_row(app.session.state, app.session.lines(limit=1)[-1])
    assert line.typed == "DOOR=48 PIN=53"
    assert line.subject == "on DOOR, PIN, site rod (used though its marks disagree: wind on the rod)"


async def test_a_setup_brought_back_that_disagrees_says_so_on(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter", "enter", "wind on the rod", "enter")
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape")
    assert shown(app).splitlines()[-1].startswith("  Esc finish it later")
    await press(pilot, "no", "enter")
    assert "SETUP DISAGREES 5/8 in" in words(app, "head")
    await press(pilot, "f9")
    assert "SETUP DISAGREES 5/8 in" in shown(app).splitlines()[0]


async def test_a_long_reason_is_cut_in_the_title_and_the_figure_is_not(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "53", "enter", "enter", "wind and a bent rod, no time for more", "enter")
    title = words(app, "head")
    assert "SETUP DISAGREES 5/8 in  RK  wind and a bent" in title
    assert "…" in title
    assert "no time for more" not in title


async def test_a_setup_is_not_lost_by_a_slip(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51", "enter", "f4")
    await press(pilot, "48", "enter")  # meant for Check
    await press(pilot, "escape")
    assert words(app).startswith("Was the laser moved?")
    await press(pilot, "maybe", "enter")
    assert isinstance(app.screen, SetUpScreen)
    await press(pilot, "escape")
    await press(pilot, "no", "enter")
    assert isinstance(app.screen, CheckScreen)
    await press(pilot, "51-1/2", "enter")
    assert "recheck a mark first (F5)" in words(app)
    assert len(readings(job)) == 1
    await press(pilot, "escape")
    await press(pilot, "f5")
    await press(pilot, "50", "enter")
    await press(pilot, "escape")
    await press(pilot, "51-1/2", "enter")
    assert verdict(app) == "ON GRADE"
    assert len(readings(job)) == 2


async def test_what_was_refused_says_what_holds_now_when_the_recheck_failed(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape")
    await press(pilot, "no", "enter")
    await press(pilot, "51-1/2", "enter")
    assert "F5" in check(app).view.note
    await press(pilot, "f5")
    await press(pilot, "52", "enter")
    await press(pilot, "escape")
    assert isinstance(app.screen, CheckScreen)
    assert "F5" not in check(app).view.note
    assert "F4" in words(app)


async def test_a_setup_brought_back_wants_its_recheck_after_a_new_start_too(
    pilot: Pilot[int], app: GradeApp, job: Path, clock: Clock
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape")
    await press(pilot, "no", "enter")
    session = Session(job, clock=clock)
    try:
        assert session.why_set_up_is_old == "The previous setup is back; recheck a mark first (F5)."
        session.record(actions.recheck(session.state, "DOOR", "50"))
        assert session.why_set_up_is_old == ""
    finally:
        session.close()


@pytest.mark.parametrize("answer", [("yes", "enter"), ("escape",)])
async def test_only_no_brings_the_setup_back(answer: tuple[str, ...], pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape")
    await press(pilot, *answer)
    assert isinstance(app.screen, CheckScreen)
    assert "no setup. Press F4" in words(app)
    await press(pilot, "f4")
    assert "Setup isn't finished" in shown(app)


async def test_on_a_direct_rod_the_figures_run_with_the_ground(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "f4")
    await press(pilot, "ctrl+e")
    assert words(app) == "DOOR: what does the grade rod (direct, in) read there?"
    await press(pilot, "20", "enter", "enter")
    # DOOR at 0 reads 20, so what lies 1 lower reads 19.
    assert words(app) == "P1 (by the hall): the rod should read 19"
    await press(pilot, "19-3/16", "enter")
    assert verdict(app) == "CUT 3/16"
    assert readings(job) == [("P1", "finish", "19-3/16")]


async def test_the_next_set_up_starts_with_the_rod_of_the_last_one(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "ctrl+e")
    await press(pilot, "20", "enter", "enter")
    await press(pilot, "f4")
    assert words(app) == "DOOR: what does the grade rod (direct, in) read there?"
    await press(pilot, "ctrl+e")
    assert words(app) == "DOOR: what does the site rod (standard, in) read there?"
    await press(pilot, "ctrl+e")
    assert "grade rod" in words(app), "and the key goes round"


async def test_a_setup_left_half_way_goes_on_with_the_first_mark_not_read(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "48", "enter", "escape", "escape")
        await press(pilot, "f4")
        assert words(app) == "PIN: what does the site rod (standard, in) read there? Press Enter alone to finish."
        await press(pilot, "52-3/8", "enter", "enter")
        assert words(app) == "P1 (by the hall): the rod should read 49"
    assert recorded(job, "backsight") == [("backsight", "DOOR=48"), ("backsight", "PIN=52-3/8")]


async def test_a_mark_that_was_read_says_so_before_its_figure_is_replaced(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "up")
    assert words(app).startswith("DOOR: read already; to replace that, what does the site rod")
    await press(pilot, "48-1/4", "enter")
    assert "rod 48 1/4 in: HI 48 1/4 in" in shown(app)


async def test_f8_strikes_the_backsight_of_the_mark_that_is_chosen(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "49", "enter", "52-3/8", "enter")
        assert "F8 drops PIN" in " ".join(shown(app).split())
        await press(pilot, "door", "enter", "f8")
        assert words(app).startswith("Struck: DOOR=49. DOOR: what does the site rod")
        await press(pilot, "48", "enter", "enter")
        assert words(app) == "P1 (by the hall): the rod should read 49"
    assert [typed for _, typed in recorded(job, "backsight")] == ["DOOR=49", "PIN=52-3/8", "DOOR=48"]


async def test_a_standing_set_up_whose_marks_disagree_says_so(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "52-3/8", "enter", "enter")
    await press(pilot, "f4")
    assert "DISAGREE" not in shown(app)
    await press(pilot, "escape")
    await press(pilot, "f6")
    await press(pilot, "ctrl+r", "PIN=53", "enter", "enter", "escape")
    await press(pilot, "f4")
    assert "ITS MARKS DISAGREE by 5/8 in (allowed 1/8 in)." in shown(app)


async def test_the_rod_is_not_changed_between_two_backsights(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "ctrl+e")
    assert words(app) == "This setup was begun on one rod; strike its backsights first (F8)."
    await press(pilot, "f8", "ctrl+e")
    assert "grade rod" in words(app)


async def test_a_mark_is_chosen_by_name_or_with_the_arrows(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "pin", "enter")
    assert words(app).startswith("PIN:")
    assert "> PIN" in shown(app)
    await press(pilot, "up")
    assert words(app).startswith("DOOR:")
    await press(pilot, "down", "down")
    assert words(app).startswith("PIN:")


async def test_a_wrong_mark_is_refused_with_the_known_ones(app: GradeApp, job: Path) -> None:
    before = recorded(job)
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "DOR", "enter")
        assert words(app) == "There is no mark “DOR”; known are DOOR, PIN. Did you mean “DOOR”?"
        assert (typed(app), recorded(job)) == ("DOR", before)
        await press(pilot, "ctrl+u", "48/", "enter")
        assert "“48/” is not a length" in words(app)
        assert recorded(job) == before


async def test_f8_strikes_the_backsight_taken_last(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "f4")
    await press(pilot, "84", "enter", "f8", "door", "enter", "48", "enter", "enter")
    assert words(app) == "P1 (by the hall): the rod should read 49"
    assert [kind for kind, _ in recorded(job)][-5:] == ["moved", "backsight", "void", "backsight", "set-up"]


async def test_a_set_up_given_up_half_way_is_no_set_up(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    assert "Current setup: site rod on DOOR 50 in" in shown(app)
    assert "It is replaced by the first backsight entered here." in shown(app)
    await press(pilot, "escape")
    assert begins(words(app), "P1 (by the hall): the rod should read 51"), "looking costs nothing"
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape", "escape")
    assert "no setup. Press F4" in words(app)


async def test_escape_drops_what_is_typed_and_says_so_first(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "f4")
    await press(pilot, "48-", "escape")
    assert (typed(app), words(app)) == ("", "“48-” was not entered. Escape again goes back.")
    await press(pilot, "escape")
    assert isinstance(app.screen, CheckScreen)


async def test_a_point_that_was_read_becomes_a_mark_by_its_name(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "f4")
    await press(pilot, "p1", "enter")
    assert words(app).startswith("P1:")
    await press(pilot, "47", "enter", "enter")
    # P1 was found at -1 and reads 47 now: the plane is at 46, and P2 wants -1 1/2.
    assert words(app) == "P2 (half way): the rod should read 47 1/2"


async def test_a_beam_set_to_grade_asks_for_the_place_of_its_marks(app: GradeApp) -> None:
    """The marks of this job have no place on the plan, so that a sloped beam can't stand on them."""
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "falls 2%, 0.5%", "enter")
        assert words(app).startswith("The beam falls 2%, 0.5% along x and y.")
        await press(pilot, "48", "enter")
        assert "give it “at: [x, y]” in the plan" in words(app)
        assert isinstance(app.screen, SetUpScreen)
        await press(pilot, "escape", "falls steep", "enter")
        assert words(app).startswith("Slopes go along x and y")


PLACED = JOB.replace("PIN: {elevation: -4 3/8,", "PIN: {elevation: -4 3/8, at: [10 in, 0],").replace(
    "DOOR: {elevation: 0,", "DOOR: {elevation: 0, at: [0, 0],"
)
"""The same job with its marks ten inches apart along x: under a beam of 10% PIN reads an inch less than level."""


async def test_a_sloped_beam_left_half_way_in_a_setup_is_taken_up_again(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, PLACED)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "falls 10%, 0.5%", "enter")
        assert "The beam falls 10%, 0.5% along x and y." in shown(app)
        await press(pilot, "48", "enter", "52-3/8", "enter")
        assert "THEY DISAGREE by 1 in" in shown(app)
        await press(pilot, "escape")
        await press(pilot, "f4")
        assert "The beam falls 10%, 0.5% along x and y." in shown(app)
        assert "THEY DISAGREE by 1 in" in shown(app)
        await press(pilot, "escape", "f12")
    again = GradeApp(jobs, job, clock=clock)
    async with running(again) as pilot:
        assert isinstance(again.screen, SetUpScreen)
        assert "The beam falls 10%, 0.5% along x and y." in shown(again)
        assert "THEY DISAGREE by 1 in" in shown(again)
        await press(pilot, "pin", "enter", "51-3/8", "enter")
        assert "They agree exactly" in shown(again)
        await press(pilot, "enter")
        assert again.session is not None
        stood = again.session.state.setup
        assert stood is not None
        assert stood.fact.slopes == (Slope(Fraction(1, 10)), Slope(Fraction(1, 200)))


@pytest.mark.parametrize("said", some(["level", "falls 0, 0", "falls 0", "falls 0%, 0%"], ["level"]))
async def test_a_word_leads_back_to_a_level_beam_for_what_was_read_already_too(
    jobs: Path, clock: Clock, said: str
) -> None:
    job = ready_job(jobs / "court", clock, PLACED)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "falls 10%", "enter", "48", "enter", "52-3/8", "enter")
        assert "THEY DISAGREE by 1 in" in shown(app)
        await press(pilot, said, "enter")
        assert words(app).startswith("The beam is level.")
        assert "beam falls" not in shown(app)
        assert "They agree exactly" in shown(app)
        await press(pilot, "falls 10%", "enter", "escape", "escape")
        await press(pilot, "f4")
        assert "THEY DISAGREE by 1 in" in shown(app), "said behind the backsights, it holds for them too"
        await press(pilot, said, "enter", "escape", "escape")
        await press(pilot, "f4")
        await press(pilot, "enter")
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        stood = app.session.state.setup
        assert stood is not None
        assert stood.fact.slopes is None
    assert [typed for _, typed in recorded(job, "backsight")][-2:] == [f"DOOR=48 {said}", f"PIN=52-3/8 {said}"]


LASER = PLACED.replace(
    "benchmarks:", "instrument: {beam: 100 arcsec, receiver: 1/64 in, longest shot: 200 ft}\nbenchmarks:"
).replace("P1: {elevation: -1,", "P1: {elevation: -1, at: [12 in, 0],")


@pytest.mark.parametrize(
    ("said", "at"), [("at 10, 5", (10, 5)), ("at 10 in, 5 in", (10, 5)), ("AT p1", (12, 0)), ("at Pin", (10, 0))]
)
async def test_the_place_of_the_laser_makes_u_go_by_each_shot(
    jobs: Path, clock: Clock, said: str, at: tuple[int, int]
) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, LASER), clock=clock)
    async with running(app) as pilot:
        assert app.session is not None
        before = app.session.state.setup
        assert before is not None
        far = app.session.state.uncertainty(before.id, inches(50), Surface("path", "P1", "finish"))
        await press(pilot, "f4")
        await press(pilot, "50", "enter")
        assert "Where is the laser?" in shown(app)
        await press(pilot, said, "enter")
        assert f"The laser is at {at[0]} in, {at[1]} in." in shown(app)
        await press(pilot, "enter")
        stood = app.session.state.setup
        assert stood is not None
        assert stood.fact.place == (inches(at[0]), inches(at[1]))
        here = app.session.state.uncertainty(stood.id, inches(50), Surface("path", "P1", "finish"))
        assert here is not None
        assert far is not None
        assert here < far


async def test_a_place_that_says_nothing_is_asked_for_again(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, LASER), clock=clock)
    async with running(app) as pilot:
        await press(pilot, "f4")
        await press(pilot, "at the gate", "enter")
        assert (
            words(app) == "A place is x and y, such as “6 ft, 7 ft”, or the name of a point. “the gate” is neither."
        )
        await press(pilot, "escape", "at P2", "enter")
        assert words(app).startswith("The plan does not say where P2 lies")


async def test_of_too_many_marks_the_chosen_one_stays_in_sight(tmp_path: Path, clock: Clock) -> None:
    many = "".join(f"  M{number}: {number} in\n" for number in range(1, 40))
    job = write_job(tmp_path / "court", JOB.replace("benchmarks:\n", f"benchmarks:\n{many}", 1))
    app = GradeApp(tmp_path, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "R", "K", "enter")
        for mark in ("M1", "M20", "M39"):
            await press(pilot, *mark, "enter")
            assert f"> {mark} " in shown(app), mark
            assert "No setup now." in shown(app)


async def test_a_mark_named_like_a_point_in_other_capitals_is_chosen(jobs: Path, clock: Clock) -> None:
    folder = ready_job(jobs / "court", clock)
    with closing(Session(folder, by="RK", clock=clock)) as session:
        session.record(actions.mark(session.state, "p9", "40"))
        # The office draws a point of that name, and it is read.
        text = JOB.replace("      P1: {", "      P9: {elevation: -1}\n      P1: {")
        (folder / "job.yaml").write_text(text, encoding="utf-8")
        session.plan_file.refresh()
        session.record(session.accept_plan())
        session.record(actions.reading(session.state, Surface("path", "P9", "finish"), "51"))
        made = session.state.mark(session.name_of("p9") or "") or session.state.mark("p9")
    app = GradeApp(jobs, folder, clock=clock)
    async with running(app) as pilot:
        before = recorded(folder)
        await press(pilot, "f4")
        await press(pilot, "p9", "enter")
        assert recorded(folder) == before
        assert app.session is not None
        assert [name for name in app.session.state.book.marks() if name.casefold() == "p9"] == ["P9"]
        assert app.session.state.mark("P9") == made
        assert words(app).startswith("P9: what does the site rod")
