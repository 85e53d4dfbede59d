"""A beam set to a fall: the plane's own formula at every place, and a plain refusal where the place is not known."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, FallXY, Length, Slope, feet, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Rod
from gradecheck.report.instrument import chain_line
from gradecheck.report.rows import grade_rod
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.survey.circuit import closings
from gradecheck.survey.level_book import LevelBook, RecordedSetup, SightedMark
from gradecheck.survey.setup import Beam, Sight, setup_on
from tests.first_things import job_open
from tests.journal_strategies import JOB, PLAN
from tests.strategies import elevations, lengths, ratios

STANDARD = Rod("site rod", "standard", Notation.usual(Units.IN))
DIRECT = Rod("hand rod", "direct", Notation.usual(Units.IN))
rods = st.sampled_from((STANDARD, DIRECT))
slopes = ratios.map(Slope)
falls = st.one_of(
    st.tuples(slopes, st.just(NO_SLOPE)), st.tuples(st.just(NO_SLOPE), slopes), st.tuples(slopes, slopes)
)
"""Falls along x and y: single along either axis, or dual."""
places = st.tuples(lengths, lengths)


def plane(at_zero: Elevation, fall: FallXY, at: tuple[Length, Length]) -> Fraction:
    """The beam's elevation in metres: z = z0 - fx x - fy y."""
    return at_zero.metres - fall[0].ratio * at[0].metres - fall[1].ratio * at[1].metres


def rod_there(rod: Rod, beam: Fraction, ground: Elevation) -> Length:
    """What the rod reads between the ground and the beam."""
    return Length(beam - ground.metres if rod.kind == "standard" else ground.metres - beam)


@given(rods, falls, elevations, st.lists(st.tuples(elevations, places), min_size=1, max_size=4), elevations, places)
def test_elevations_and_grade_rods_follow_the_plane_exactly(
    rod: Rod,
    fall: FallXY,
    at_zero: Elevation,
    marks: list[tuple[Elevation, tuple[Length, Length]]],
    ground: Elevation,
    at: tuple[Length, Length],
) -> None:
    sights = [
        Sight(f"M{number}", elevation, rod_there(rod, plane(at_zero, fall, place), elevation), place)
        for number, (elevation, place) in enumerate(marks)
    ]
    stood = setup_on(rod, sights, fall)
    reading = rod_there(rod, plane(at_zero, fall, at), ground)
    assert stood.elevation(reading, at) == ground
    assert stood.grade_rod(ground, at) == reading
    assert stood.zero_at(at) == Elevation(plane(at_zero, fall, at))


@given(rods, elevations, lengths, places, lengths)
def test_a_beam_without_any_fall_is_a_level_one(
    rod: Rod, mark: Elevation, backsight: Length, at: tuple[Length, Length], reading: Length
) -> None:
    flat = setup_on(rod, [Sight("M", mark, backsight, (ZERO, ZERO))], (NO_SLOPE, NO_SLOPE))
    assert flat.elevation(reading, at) == setup_on(rod, [Sight("M", mark, backsight)]).elevation(reading)


@given(falls, places, places)
def test_the_beam_lies_lower_down_the_fall(
    fall: FallXY, origin: tuple[Length, Length], at: tuple[Length, Length]
) -> None:
    there, back = Beam(*fall, origin), Beam(*fall, at)
    assert there.drop(origin) == ZERO
    assert there.drop(at) == -back.drop(origin)
    east = (origin[0] + feet(100), origin[1])
    assert there.drop(east) == fall[0].over(feet(100))


@given(rods, falls, elevations, lengths, lengths)
def test_of_a_spot_without_a_place_a_sloped_beam_says_nothing(
    rod: Rod, fall: FallXY, mark: Elevation, backsight: Length, reading: Length
) -> None:
    stood = setup_on(rod, [Sight("M", mark, backsight, (ZERO, ZERO))], fall)
    assert stood.elevation(reading) is None
    assert stood.grade_rod(mark) is None


def test_a_sloped_beam_stands_on_no_mark_without_a_place() -> None:
    sights = [Sight("M", Elevation(Fraction(0)), inches(48), (ZERO, ZERO)), Sight("N", Elevation(Fraction(0)), ZERO)]
    for some in (sights, sights[::-1], sights[1:]):
        with pytest.raises(ValueError, match="needs the place of every mark"):
            setup_on(STANDARD, some, (Slope(Fraction(1, 50)), NO_SLOPE))


@given(falls, elevations, places, elevations, st.sampled_from(("site rod", "hand rod")))
def test_what_is_carried_through_a_sloped_beam_adds_up_in_its_chain(
    fall: FallXY, zero: Elevation, place: tuple[Length, Length], spot: Elevation, rod: str
) -> None:
    """DOOR lies at the plan's origin; the turning point anywhere."""
    kind = PLAN.rods[rod]
    book = LevelBook(PLAN)
    backsight = rod_there(kind, zero.metres, Elevation(Fraction(0)))
    book.add_setup(RecordedSetup(1, "S1", rod, (("DOOR", backsight),), fall))
    foresight = rod_there(kind, plane(zero, fall, place), spot)
    book.add_mark("TP1", SightedMark(2, "m", setup="S1", rod=foresight, at=place))
    assert book.elevation("TP1") == spot
    (step,) = book.chain("TP1")
    assert step.rise == spot.height


# -- on site


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """A job where DOOR, W1 and W2 have a place and KERB, C1 have none; W2 lies 1 1/2 in below W1, 6 ft on."""
    with job_open(tmp_path, JOB) as session:
        yield session


FALL = (Slope(Fraction(1, 48)), NO_SLOPE)
"""A quarter inch in a foot, along x: as the walk falls."""
W1, W2, C1 = Surface("walk", "W1", "finish"), Surface("walk", "W2", "finish"), Surface("court", "C1", "finish")


def test_with_the_beam_at_the_walks_own_fall_one_figure_holds_along_it(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48")], slopes=FALL))
    # W1 is wanted at −1/2, 4 ft down the fall: 48 − 1 + 1/2; W2 at −2, 10 ft down it: 48 − 2 1/2 + 2.
    assert [grade_rod(session.state, surface) for surface in (W1, W2)] == ["47 1/2", "47 1/2"]
    for surface in (W1, W2):
        session.record(actions.reading(session.state, surface, "47-1/2"))
        verdict = session.state.verdict(surface)
        assert verdict is not None
        assert (verdict.word, verdict.difference) == (Word.ON_GRADE, ZERO)


def test_a_mark_without_a_place_is_refused_for_a_sloped_beam(session: Session) -> None:
    with pytest.raises(Refusal, match=r"needs to know where KERB lies; give it “at: \[x, y\]” in the plan"):
        session.draft(actions.set_up_on(session.state, [("DOOR", "48"), ("KERB", "52")], slopes=FALL))
    session.record(*actions.backsight(session.state, "KERB", "52"))
    with pytest.raises(Refusal, match="needs to know where KERB lies"):
        session.draft(actions.finish_setup(session.state, FALL))
    assert session.state.setup is None


def test_a_reading_at_a_point_without_a_place_is_refused_with_a_sentence(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48")], slopes=FALL))
    assert grade_rod(session.state, C1) == ""
    assert session.question(C1, "51") is None
    with pytest.raises(Refusal, match=r"The beam is sloped: give C1 its place in the plan, “at: \[x, y\]”"):
        session.draft(actions.reading(session.state, C1, "51"))
    assert session.state.setup is not None


def test_a_recheck_on_a_mark_without_a_place_is_refused_with_a_sentence(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48")], slopes=FALL))
    with pytest.raises(Refusal, match="beam is sloped, and the plan does not say where KERB is"):
        session.draft(actions.recheck(session.state, "KERB", "52"))
    assert session.record(actions.recheck(session.state, "DOOR", "48")).fact.good


def test_a_point_read_with_a_sloped_beam_carries_on_with_its_place(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48")], slopes=FALL))
    session.record(actions.reading(session.state, W2, "47-1/2"))
    session.record(actions.promote(session.state, W2))
    mark = session.state.mark("W2")
    assert mark is not None
    assert mark.height == inches(-2)
    # 48 at the door, 2 1/2 less at W2.
    assert chain_line(session.state, "W2") == "W2 = DOOR 0 + 48 − 47 1/2 − 2 1/2 fall of the beam = −2 in"


def test_a_loop_walked_with_a_sloped_beam_closes_where_it_does(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48")], slopes=FALL))
    session.record(actions.reading(session.state, W2, "47-1/2"))
    session.record(actions.promote(session.state, W2))
    session.record(actions.set_up_on(session.state, [("W2", "50"), ("DOOR", "48")]))
    (closing,) = closings(session.state.book)
    assert closing.circuit.misclosure == ZERO
