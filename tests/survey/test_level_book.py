"""Zero carried from mark to mark: exact, whatever the instrument did in between, and honest where it was lost."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope, inches
from gradecheck.survey.circuit import closings, network
from gradecheck.survey.doubt import Doubt
from gradecheck.survey.level_book import Carry, GivenMark, LevelBook, Recheck, RecordedSetup, SightedMark
from gradecheck.survey.uncertainty import Carried, sight_budget
from tests.journal_strategies import PLAN, sixteenths
from tests.strategies import elevations, examples, lengths

STANDARD, DIRECT = "site rod", "hand rod"
rods = st.sampled_from((STANDARD, DIRECT))
GIVEN = {name: mark.elevation for name, mark in PLAN.benchmarks.items()}


def reads(rod: str, zero: Elevation, elevation: Elevation) -> Length:
    """What a rod without any error reads there."""
    return elevation.above(zero) if rod == DIRECT else zero.above(elevation)


@dataclass
class Walk:
    """A site where everything's true elevation is known, and the level book kept of it with exact readings."""

    book: LevelBook
    true: dict[str, Elevation]
    zeros: dict[str, Elevation]
    seq: int = 0

    def stand(self, rod: str, zero: Elevation, marks: list[str]) -> RecordedSetup:
        """The instrument stands there and looks back on those marks."""
        self.seq += 1
        sights = tuple((mark, reads(rod, zero, self.true[mark])) for mark in marks)
        stood = RecordedSetup(self.seq, f"S{len(self.zeros) + 1}", rod, sights)
        self.zeros[stood.id] = zero
        self.book.add_setup(stood)
        return stood

    def see(self, stood: RecordedSetup, elevation: Elevation) -> str:
        """A turning point seen from there."""
        self.seq += 1
        name = f"TP{len(self.true) - len(GIVEN) + 1}"
        self.true[name] = elevation
        rod = reads(stood.rod, self.zeros[stood.id], elevation)
        self.book.add_mark(name, SightedMark(self.seq, f"M {name}", setup=stood.id, rod=rod))
        return name


def start() -> Walk:
    """Nothing has happened yet."""
    return Walk(LevelBook(PLAN), dict(GIVEN), {})


@st.composite
def walks(draw: st.DrawFn, most: int = 40, backsights: int = 3) -> Walk:
    """Any number of setups, each on marks known by then, each seeing one to three new ones."""
    walk = start()
    for _ in range(draw(st.integers(1, most))):
        latest = list(walk.true)[-5:]
        marks = draw(st.lists(st.sampled_from(latest), min_size=1, max_size=backsights, unique=True))
        stood = walk.stand(draw(rods), draw(elevations), marks)
        for _ in range(draw(st.integers(1, 3))):
            walk.see(stood, draw(elevations))
    return walk


@st.composite
def chains(draw: st.DrawFn, most: int = 20) -> Walk:
    """Setup after setup, each on the one mark that was seen from the one before."""
    walk, here = start(), "DOOR"
    for _ in range(draw(st.integers(1, most))):
        here = walk.see(walk.stand(draw(rods), draw(elevations), [here]), draw(elevations))
    return walk


def known(walk: Walk) -> dict[str, Elevation | None]:
    """Every mark's elevation as the book has it."""
    return {name: walk.book.elevation(name) for name in walk.true}


# -- exact


@given(walks())
@examples(100, few=8)
def test_exact_readings_return_exact_elevations_of_every_mark(walk: Walk) -> None:
    assert known(walk) == walk.true
    for setup, zero in walk.zeros.items():
        found = walk.book.setup(setup)
        assert found is not None
        assert found.zero == zero


@given(walks(most=8, backsights=5))
def test_exact_backsights_agree_to_nothing_and_none_stands_out(walk: Walk) -> None:
    for stood in walk.book.setups():
        told = walk.book.agreement(stood)
        assert told is not None
        assert [mark for mark, _ in told.zeros] == [mark for mark, _ in stood.sights]
        assert (told.spread, told.stands_out) == (ZERO, None)
        assert told.within(ZERO)


@given(walks(most=12))
@examples(100, few=10)
def test_the_chain_of_a_mark_adds_up_to_its_elevation(walk: Walk) -> None:
    for name, elevation in walk.true.items():
        steps = walk.book.chain(name)
        if name in GIVEN:
            assert steps == []
            continue
        assert steps[0].base in GIVEN
        assert steps[-1].end == name
        assert [step.end for step in steps[:-1]] == [step.base for step in steps[1:]]
        assert sum((step.rise for step in steps), ZERO) == elevation.above(GIVEN[steps[0].base])


def test_zero_carries_over_a_thousand_set_ups() -> None:
    walk, here = start(), "DOOR"
    for number in range(1000):
        rod = DIRECT if number % 3 else STANDARD
        stood = walk.stand(rod, Elevation(Fraction(number, 7)), [here])
        here = walk.see(stood, Elevation(Fraction(-number, 11)))
    assert known(walk) == walk.true
    assert len(walk.book.chain(here)) == 1000
    doubt, carried = Doubt(walk.book, inches(1)), Carried(walk.book, PLAN)
    assert not doubt.mark_in_doubt(here)
    variance = carried.mark_variance(here)
    usual = carried.usual_sight()
    assert variance is not None
    assert usual is not None
    assert variance == pytest.approx(2000 * usual**2)
    # A look at the door from the first setup, 8 in off: the whole way hangs on it.
    walk.book.add_recheck(Recheck(2, "look", "S1", "DOOR", inches(8)))
    assert doubt.mark_in_doubt(here)


def test_two_lines_of_500_setups_that_meet_are_one_mean() -> None:
    walk, ends = start(), ["DOOR", "KERB"]
    for number in range(1000):
        side = number % 2
        stood = walk.stand(STANDARD, Elevation(Fraction(number, 7)), [ends[side]])
        ends[side] = walk.see(stood, Elevation(Fraction(-number, 11)))
    last = walk.stand(STANDARD, Elevation(Fraction(3)), ends)
    carried = Carried(walk.book, PLAN)
    usual = carried.usual_sight()
    assert usual is not None
    # Each line brings 1000 sights along, each backsight adds one, and of two that share nothing the mean has half.
    assert carried.carried(last) == pytest.approx(1001 * usual**2 / 2)
    found = walk.book.setup(last.id)
    assert found is not None
    assert found.zero == Elevation(Fraction(3))


# -- how well backsights agree


@given(rod=rods, zero=elevations, trues=st.lists(elevations, min_size=3, max_size=6), bad=st.data())
def test_one_bad_backsight_of_three_or_more_stands_out(
    rod: str, zero: Elevation, trues: list[Elevation], bad: st.DataObject
) -> None:
    walk = start()
    first = walk.stand(STANDARD, Elevation(Fraction(1)), ["DOOR"])
    marks = [walk.see(first, true) for true in trues]
    odd = bad.draw(st.sampled_from(marks))
    by = bad.draw(lengths.filter(bool))
    sights = tuple((m, reads(rod, zero, walk.true[m]) + (by if m == odd else ZERO)) for m in marks)
    told = walk.book.agreement(RecordedSetup(1000, "", rod, sights))
    assert told is not None
    assert told.stands_out == odd
    assert told.spread == abs(by)
    assert told.within(abs(by))
    assert not told.within(abs(by) * Fraction(99, 100))
    shift = by * Fraction(1, len(marks))
    assert told.mean == (zero.minus(shift) if rod == DIRECT else zero + shift)


@given(rods, elevations, lengths.filter(bool))
def test_of_two_backsights_that_disagree_nobody_can_say_which(rod: str, zero: Elevation, by: Length) -> None:
    sights = (("DOOR", reads(rod, zero, GIVEN["DOOR"])), ("KERB", reads(rod, zero, GIVEN["KERB"]) + by))
    told = start().book.agreement(RecordedSetup(1, "", rod, sights))
    assert told is not None
    assert (told.spread, told.stands_out) == (abs(by), None)


# -- corrected


@given(chains(), st.data())
def test_a_corrected_backsight_moves_all_that_was_carried_after_it(walk: Walk, data: st.DataObject) -> None:
    wrong = data.draw(st.sampled_from(walk.book.setups()))
    by = data.draw(lengths)
    before = known(walk)
    ((mark, reading),) = wrong.sights
    walk.book.add_setup(dataclasses.replace(wrong, sights=((mark, reading + by),)))
    after = known(walk)
    moved = -by if wrong.rod == DIRECT else by
    for name, was in before.items():
        source, now = walk.book.source(name), after[name]
        assert source is not None
        assert was is not None
        assert now is not None
        assert now.above(was) == (moved if source.seq > wrong.seq else ZERO)


@given(rod=rods, zero=elevations, count=st.integers(1, 5), spot=elevations, by=lengths)
def test_one_of_several_backsights_corrected_moves_the_mean_by_its_share(
    rod: str, zero: Elevation, count: int, spot: Elevation, by: Length
) -> None:
    walk = start()
    first = walk.stand(STANDARD, Elevation(Fraction(1)), ["DOOR"])
    stood = walk.stand(rod, zero, [walk.see(first, Elevation(Fraction(n, 9))) for n in range(count)])
    end = walk.see(stood, spot)
    (mark, reading), *others = stood.sights
    walk.book.add_setup(dataclasses.replace(stood, sights=((mark, reading + by), *others)))
    now = walk.book.elevation(end)
    assert now is not None
    assert now.above(spot) == by * Fraction(-1 if rod == DIRECT else 1, count)


@given(elevations, elevations, elevations, elevations)
def test_a_mark_shot_anew_leaves_what_leaned_on_it_before_where_it_was(
    zero: Elevation, first: Elevation, again: Elevation, spot: Elevation
) -> None:
    walk = start()
    one = walk.stand(STANDARD, zero, ["DOOR"])
    carried = walk.see(one, first)
    two = walk.stand(STANDARD, zero, [carried])
    end = walk.see(two, spot)
    walk.seq += 1
    late = SightedMark(walk.seq, "again", setup=one.id, rod=reads(STANDARD, zero, again))
    walk.book.add_mark(carried, late)
    assert walk.book.elevation(carried) == again
    assert walk.book.elevation(carried, late.seq) == first
    assert walk.book.elevation(end) == spot
    walk.book.remove_mark(carried, "again")
    assert walk.book.elevation(carried) == first


@given(moved=elevations, spot=elevations, zero=elevations)
def test_a_benchmark_moves_from_there_on_or_was_wrong_from_the_start(
    moved: Elevation, spot: Elevation, zero: Elevation
) -> None:
    walk = start()
    early = walk.see(walk.stand(STANDARD, zero, ["KERB"]), spot)
    walk.seq += 1
    fact = GivenMark(walk.seq, "moved", moved)
    walk.book.add_mark("KERB", fact)
    assert walk.book.elevation(early) == spot
    late = walk.stand(STANDARD, zero, ["KERB"])
    found = walk.book.setup(late.id)
    assert found is not None
    by = moved.above(GIVEN["KERB"])
    assert found.zero == zero + by
    # The same told as wrong from the start moves what was seen before, too.
    walk.book.remove_mark("KERB", "moved")
    walk.book.add_mark("KERB", dataclasses.replace(fact, seq=0))
    assert walk.book.elevation(early) == spot + by


# -- struck


@given(walks(most=12), st.data())
def test_a_struck_set_up_leaves_all_that_leans_on_it_unknown(walk: Walk, data: st.DataObject) -> None:
    struck = data.draw(st.sampled_from(walk.book.setups()))
    lost_set_ups, lost = {struck.id}, set[str]()
    for stood in walk.book.setups():
        if any(mark in lost for mark, _ in stood.sights):
            lost_set_ups.add(stood.id)
        for name in walk.true:
            source = walk.book.source(name)
            if isinstance(source, SightedMark) and source.setup in lost_set_ups:
                lost.add(name)
    walk.book.remove_setup(struck.id)
    for name, was in walk.true.items():
        assert walk.book.elevation(name) == (None if name in lost else was)
    for setup in walk.zeros:
        assert (walk.book.setup(setup) is None) == (setup in lost_set_ups)
    walk.book.add_setup(struck)
    assert known(walk) == walk.true


# -- anything at all

_names = st.sampled_from(("DOOR", "KERB", "A", "B", "C", "LOST"))
_setups = st.sampled_from(("S1", "S2", "S3", "S4", "gone"))
_seqs = st.integers(0, 12)
_figures = st.integers(-40, 900).map(sixteenths)


def _put_set_up(book: LevelBook, data: st.DataObject) -> None:
    sights = data.draw(st.lists(st.tuples(_names, _figures), min_size=1, max_size=3))
    slopes = data.draw(st.sampled_from((None, None, (Slope(Fraction(1, 50)), Slope(Fraction(0))))))
    rod = data.draw(st.sampled_from((STANDARD, DIRECT, "lost rod")))
    book.add_setup(RecordedSetup(data.draw(_seqs), data.draw(_setups), rod, tuple(sights), slopes))


def _put_mark(book: LevelBook, data: st.DataObject) -> None:
    given_ = data.draw(st.none() | elevations)
    source = SightedMark(data.draw(_seqs), f"m{data.draw(_seqs)}", setup=data.draw(_setups), rod=data.draw(_figures))
    book.add_mark(data.draw(_names), GivenMark(source.seq, source.id, given_) if given_ else source)


def _put_look(book: LevelBook, data: st.DataObject) -> None:
    book.add_recheck(Recheck(data.draw(_seqs), "look", data.draw(_setups), data.draw(_names), data.draw(_figures)))


_CHANGES = (
    _put_set_up,
    _put_set_up,
    _put_mark,
    _put_mark,
    _put_look,
    lambda book, data: book.remove_setup(data.draw(_setups)),
    lambda book, data: book.remove_mark(data.draw(_names), f"m{data.draw(_seqs)}"),
    lambda book, data: book.remove_recheck(data.draw(_setups), "look"),
)


@given(st.lists(st.sampled_from(_CHANGES), max_size=25), st.data())
def test_no_sequence_of_facts_makes_the_book_raise_or_run_in_circles(
    changes: list[object], data: st.DataObject
) -> None:
    """Marks seen from setups that come later, from themselves, or from none: they are unknown, not an error."""
    book = LevelBook(PLAN)
    doubt, carried = Doubt(book, inches(Fraction(1, 8))), Carried(book, PLAN)
    for change in changes:
        assert callable(change)
        change(book, data)
        told: dict[str, Elevation | None] = {name: book.elevation(name) for name in (*book.marks(), "LOST")}
        for name, elevation in told.items():
            steps = book.chain(name)
            assert isinstance(doubt.mark_in_doubt(name), bool)
            variance = carried.mark_variance(name)
            assert variance is None or variance >= 0
            if steps and elevation is not None and len({step.setup for step in steps}) == 1:
                (step,) = steps
                assert step.end == name
        for stood in book.setups():
            found = book.setup(stood.id)
            heard = book.agreement(stood)
            # What stands leans on marks that were known before it, and on a rod of the plan.
            if found is not None:
                assert all(book.elevation(mark, stood.seq) is not None for mark, _ in stood.sights)
                assert heard is not None
                if stood.slopes is None:
                    assert found.zero == heard.mean
            for mark, _ in stood.sights:
                source = book.source(mark, stood.seq)
                assert source is None or source.seq < stood.seq or isinstance(source, GivenMark)
        assert [each.circuit.setups for each in closings(book) if each.circuit.setups < 1] == []
        known_marks, legs = network(book)
        assert set(known_marks) <= {name for leg in legs for name in (leg.start, leg.end)}


def test_a_mark_seen_from_a_set_up_that_came_later_is_not_known() -> None:
    book = LevelBook(PLAN)
    book.add_mark("A", SightedMark(1, "m", setup="S1", rod=inches(40)))
    book.add_setup(RecordedSetup(2, "S1", STANDARD, (("DOOR", inches(48)),)))
    assert book.elevation("A") is None
    assert book.chain("A") == []


def test_two_set_ups_that_lean_on_each_other_leave_both_unknown() -> None:
    book = LevelBook(PLAN)
    book.add_mark("A", SightedMark(1, "a", setup="S2", rod=inches(40)))
    book.add_setup(RecordedSetup(2, "S1", STANDARD, (("A", inches(48)),)))
    book.add_mark("B", SightedMark(3, "b", setup="S1", rod=inches(40)))
    book.add_setup(RecordedSetup(4, "S2", STANDARD, (("B", inches(48)),)))
    assert [book.setup(name) for name in ("S1", "S2")] == [None, None]
    assert [book.elevation(name) for name in ("A", "B")] == [None, None]


# -- how sure


@given(st.lists(st.tuples(st.integers(1, 900), st.integers(1, 900)), min_size=1, max_size=15))
def test_variances_add_sight_by_sight(figures: list[tuple[int, int]]) -> None:
    walk, here, seq, total = start(), "DOOR", 0, 0.0
    carried = Carried(walk.book, PLAN)
    assert PLAN.instrument is not None
    for number, (back, fore) in enumerate(figures):
        walk.book.add_setup(RecordedSetup(seq + 1, f"S{number}", STANDARD, ((here, sixteenths(back)),)))
        here = f"A{number}"
        seq += 2
        walk.book.add_mark(here, SightedMark(seq, here, setup=f"S{number}", rod=sixteenths(fore)))
        for figure in (back, fore):
            total += sight_budget(PLAN.instrument, PLAN.rod, sixteenths(figure), None).total ** 2
    assert carried.mark_variance(here) == pytest.approx(total)
    assert carried.mark_variance("DOOR") == 0


def test_a_turning_point_taken_from_itself_is_another_spot() -> None:
    """A crew that calls every turning point TP1 has circuits and a network all the same."""
    walk, zero = start(), Elevation(inches(50).metres)
    shots = []
    for below in (10, 20):
        stood = walk.stand(STANDARD, zero, [shots[-1] if shots else "DOOR"])
        walk.seq += 1
        walk.true["TP1"] = zero.minus(inches(below))
        walk.book.add_mark("TP1", SightedMark(walk.seq, f"M{below}", setup=stood.id, rod=inches(below)))
        shots.append("TP1")
    walk.stand(STANDARD, zero, ["TP1", "DOOR"])
    (closing,) = closings(walk.book)
    assert closing.marks == ("DOOR", "TP1 of entry 2", "TP1 of entry 4", "DOOR")
    assert (closing.circuit.setups, closing.circuit.misclosure) == (3, ZERO)
    _, legs = network(walk.book)
    assert [leg.name for leg in legs] == [
        "DOOR to TP1 as of entry 2",
        "TP1 as of entry 2 to TP1",
        "TP1 to DOOR",
    ]
    assert sum((leg.rise for leg in legs), ZERO) == ZERO


@pytest.mark.parametrize(("direct", "rise"), [(False, -3), (True, 1)])
def test_where_the_beam_lies_lower_the_end_lies_lower_by_as_much(direct: bool, rise: int) -> None:
    # 50 on the base, 52 on the end, and the beam an inch lower there: two down by the rod, or two up by a direct one.
    step = Carry("set up 1", "DOOR", inches(50), "PIN", inches(52), direct, inches(1))
    assert step.rise == inches(rise)
