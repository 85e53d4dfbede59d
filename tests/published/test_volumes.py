"""Volumes, areas, orders of stone and over-dig against published or stated check values."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest

from gradecheck.checks.dig import Difference, OverDig, fill, haul, order
from gradecheck.ground.outline import Outline, Ring
from gradecheck.ground.spots import Place
from gradecheck.ground.volumes import (
    Apart,
    Section,
    between_sections,
    cell_apart,
    split,
)
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.measure.typed import read_length
from gradecheck.measure.units import read_quantity, read_slope
from gradecheck.plan.stone import SAND, Stone
from tests.first_things import set_up
from tests.published.sources import (
    COMMON_PRACTICE,
    DERIVED,
    VERIFIED,
    VERIFIED_2,
    Source,
    agrees,
    of,
    plan_with,
    wanted,
)

# Our own units here, so that no constant is taken from the code under test.
FOOT = Fraction(3048, 10_000)
INCH = FOOT / 12
FOOT_3 = FOOT**3
YARD_3 = 27 * FOOT_3
POUND = Fraction(45_359_237, 10**8)
TON = 2000 * POUND

FROM_MEMORY = "FROM MEMORY"
FROM_THE_INPUTS = Source("arithmetic from the stated inputs", DERIVED)
EXCAVATION = Source("Estimating in Building Construction, ch. 9 Excavation", VERIFIED)
TRAVERSES = Source("Open Access Surveying Library, traverse computations", VERIFIED)
FORUM = Source("UK paving forum, its printed percent ten times too small: by the arithmetic", VERIFIED)


def _fractions(text: str) -> list[Fraction]:
    return [Fraction(part) for part in text.split()]


def _ring(unit: Fraction, *corners: tuple[str, str]) -> Ring:
    return tuple((Length(Fraction(x) * unit), Length(Fraction(y) * unit)) for x, y in corners)


def _rectangle(w: str, length: str, unit: Fraction) -> Outline:
    return Outline(_ring(unit, ("0", "0"), (w, "0"), (w, length), ("0", length)))


def _rows(*rows: str) -> list[list[Fraction]]:
    return [_fractions(row) for row in rows]


# Methods ------------------------------------------------------------------------------------------------------


def _cut(*sections: tuple[str, str]) -> Fraction:
    """The cut between sections, given as station and area, in whatever unit both are in."""
    return between_sections(
        [Section(Length(Fraction(at)), Fraction(area), Fraction(0)) for at, area in sections]
    ).above


def test_a_01_two_sections_make_their_mean_times_the_length() -> None:
    """A-01: formula V = L (A1 + A2)/2; numbers from the stated inputs [DERIVED]."""
    assert _cut(("0", "100"), ("250", "120")) == 27_500


def test_a_02_an_end_that_runs_out_is_a_third_of_the_prism() -> None:
    """A-02: formula V = L A/3; numbers from the stated inputs [DERIVED]."""
    assert _cut(("0", "5"), ("15", "0")) == _cut(("0", "0"), ("15", "5")) == 25


def test_a_03_average_ends_of_a_frustum_are_too_much() -> None:
    """A-03: a frustum from 2 by 2 to 4 by 4 holds 28 by its formula [DERIVED]; average ends make it 30."""
    assert _cut(("0", "4"), ("3", "16")) == 30


def test_a_05_a_triangle_counts_the_mean_of_its_three_depths() -> None:
    """A-05: formula V = (h1 + h2 + h3) s²/6 for each half of a square [VERIFIED, same notes]."""
    s = Fraction(10)
    assert split((Fraction(1), Fraction(2), Fraction(6)), s * s / 2).above == (1 + 2 + 6) * s * s / 6


def test_a_06_a_triangle_is_cut_at_its_zero_point() -> None:
    """A-06: c/(c + f)·s from the cut corner; and the parts of a triangle so cut, by hand [DERIVED].

    A right triangle of 6 by 6 with 2 of cut at the right angle and 1 of fill at both others is cut at 4 along both.
    """
    cut, fill_, side, at = map(Fraction, (2, 1, 6, 4))
    apart = split((cut, -fill_, -fill_), side * side / 2)
    assert apart.above == at * at / 2 * cut / 3
    assert apart.below == apart.above - side * side / 2 * (cut - 2 * fill_) / 3


def test_a_07_where_cut_and_fill_share_a_cell_they_are_kept_apart() -> None:
    """A-07 [VERIFIED, University of Melbourne plane-survey notes, 1998]; numbers from the stated inputs."""
    assert cell_apart(_fractions("1 1 -1 -1"), Fraction(16)) == Apart(Fraction(4), Fraction(4))


def test_cut_and_fill_of_a_mixed_cell_by_the_four_point_method() -> None:
    """Land leveling, US Soil Conservation Service, National Engineering Handbook, section 15 [FROM MEMORY].

    A station of 100 ft, cuts 0.3 and 0.5 ft, fills 0.2 and 0.6 ft: 2500 x 0.8² / 1.6 = 1000 ft³ of either, by hand.
    """
    apart = cell_apart(_fractions("0.3 -0.2 0.5 -0.6"), Fraction(100 * 100))
    assert apart.above == apart.below == 1000


def test_a_08_an_area_by_coordinates_is_half_the_sum_of_cross_products() -> None:
    """A-08: formula; numbers from the stated inputs [DERIVED]."""
    assert Outline(_ring(Fraction(1), ("0", "0"), ("3", "1"), ("4", "5"), ("1", "4"))).area == 11


# Published examples -------------------------------------------------------------------------------------------


def _w_01(areas: Sequence[str | None]) -> Fraction:
    """What lies between those of the sections that have any."""
    chainages = ["0", "50", "75", "100", "115", "150"]
    return _cut(*((at, area) for at, area in zip(chainages, areas, strict=True) if area is not None))


def test_w_01_a_road_in_cut_and_fill() -> None:
    """W-01: Wikibooks, Fundamentals of Transportation, Earthwork [VERIFIED]."""
    filled = _w_01(["60", "50", "25", "5", "0", None])
    cut = _w_01([None, None, "0", "10", "15", "30"])
    assert agrees(filled, "4087.5")
    assert agrees(cut, "1058.3")
    assert agrees(filled - cut, "3029.2")


def test_w_02_one_grid_cell_of_fifty_feet() -> None:
    """W-02: Estimating in Building Construction, Ex. 9-5 [VERIFIED]: printed 563 ft3."""
    found = cell_apart(_fractions("0.1 0.8 0 0"), Fraction(50 * 50)).above
    assert found == Fraction("562.5")
    assert agrees(found, "563")


def test_w_03_and_w_04_a_cell_cut_on_its_zero_line() -> None:
    """W-03: same, Ex. 9-6 [VERIFIED]. W-04: p. 73, its answer page not read: by the arithmetic [DERIVED]."""
    assert cell_apart(_fractions("0.3 0.4 0 0"), Fraction(1100)).above == Fraction("192.5")


def test_w_05_two_sections_seventy_five_feet_apart() -> None:
    """W-05: same, Ex. 9-9, its answer page not read: by the arithmetic [DERIVED]."""
    found = _cut(("0", "114.3"), ("75", "232.4"))
    assert found == Fraction("13001.25")
    assert agrees(found / 27, "481.53")


def test_w_06_ground_lifted_to_one_height() -> None:
    """W-06: engineering exam problem page [VERIFIED]: printed 199 yd3, from 87.6, 87.6, 87.6 and 88.6 to 90 ft."""
    found = cell_apart(_fractions("2.4 2.4 2.4 1.4"), Fraction(50 * 50)).above / 27
    assert agrees(found, "199")
    assert agrees(found, "199.07")


def test_w_07_a_cellar_hole_in_bank_yards_loose_yards_and_loads() -> None:
    """W-07: Estimating in Building Construction, Ex. 9-14 [VERIFIED]."""
    wide, long = 34 + Fraction(1, 12), 40 + Fraction(4, 12)
    cubic_feet = wide * long * 8
    assert agrees(cubic_feet, "10997.6")
    bank = cubic_feet / 27
    assert agrees(bank, "407")
    # It goes on with the rounded 407; the loads are the same without rounding.
    swollen = Stone(swell=Fraction("0.3"))
    hauled = haul(407 * YARD_3, swollen, 7 * YARD_3)
    assert hauled.loose / YARD_3 == Fraction("529.1")
    assert hauled.loads == haul(bank * YARD_3, swollen, 7 * YARD_3).loads == 76


@pytest.mark.parametrize(
    ("bank", "swell", "printed", "trips"),
    [
        pytest.param("1000", "0.30", "1300", 186, id=of("W-09 clay", EXCAVATION)),
        pytest.param("100", "0.15", "115", 17, id=of("W-10 (loads of 7 worked out here)", EXCAVATION)),
        pytest.param(
            "100", "0.11", "111", 16, id=of("Q-01 sand", Source("army/navy soil conversion table", VERIFIED_2))
        ),
        pytest.param("100", "0.25", "125", 18, id=of("Q-02 common earth", Source("FM 5-434, FM 5-430", FROM_MEMORY))),
        pytest.param("100", "0.43", "143", 21, id=of("Q-03 clay", Source("FM 5-434, FM 5-430", FROM_MEMORY))),
        pytest.param("100", "0.50", "150", 22, id=of("Q-04 blasted rock", Source("FM 5-434, FM 5-430", FROM_MEMORY))),
        pytest.param(
            "100", "0.40", "140", 20, id=of("Q-06 clay", Source("engineering site, swell factors", VERIFIED_2))
        ),
        pytest.param("100", "0.67", "167", 24, id=of("Q-06 limestone", Source("same", VERIFIED_2))),
    ],
)
def test_soil_swells_once_and_loads_are_rounded_up(bank: str, swell: str, printed: str, trips: int) -> None:
    hauled = haul(Fraction(bank) * YARD_3, Stone(swell=Fraction(swell)), 7 * YARD_3)
    assert agrees(hauled.loose / YARD_3, printed)
    assert hauled.loads == trips


def test_w_11_a_strip_of_three_rectangles() -> None:
    """W-11: published student solution [VERIFIED], which prints 16.02 and 17.63 for using 0.037 instead of 1/27."""
    sizes = [("10.5", "17"), ("14.5", "12.5"), ("15", "14.5")]
    area = sum((_rectangle(w, length, Fraction(1)).area for w, length in sizes), Fraction(0))
    assert area == Fraction("577.25")
    deep = Fraction(9, 12)
    assert agrees(area * deep, "432.94")
    assert agrees(area * deep * Fraction("0.037"), "16.02")
    hauled = haul(area * deep * FOOT_3, Stone(swell=Fraction("0.1")), 7 * YARD_3)
    assert agrees(hauled.bank / YARD_3, "16.035")
    assert agrees(hauled.loose / YARD_3, "17.638")
    assert hauled.loads == 3


W_12 = [("500.000", "2000.000"), ("323.614", "1561.426"), ("526.996", "1488.321"), ("719.336", "1686.956")]
W_13 = [
    ("406.31", "1259.97"), ("235.12", "1489.47"), ("65.81", "1126.40"), ("317.89", "942.04"), ("675.32", "1282.54"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("corners", "area"),
    [
        pytest.param(W_12, "102935.7", id=of("W-12", TRAVERSES)),
        pytest.param(W_13, "140493", id=of("W-13", TRAVERSES)),
    ],
)
def test_a_traverse_has_the_area_of_its_coordinates(corners: list[tuple[str, str]], area: str) -> None:
    """North and east stand in the place of x and y, so the corners run the other way round for us."""
    assert agrees(Outline(_ring(Fraction(1), *corners)).area, area)


def test_w_16_the_quick_form_of_average_ends_is_a_thousandth_short() -> None:
    """W-16: NAVEDTRA 14080, 14081 [VERIFIED]: 1.85 for 100/54; numbers from the stated inputs."""
    exact = _cut(("0", "100"), ("250", "120")) / 27
    quick = Fraction("1.85") * 220 * Fraction("2.5")
    assert agrees(exact, "1018.5")
    assert agrees(quick, "1017.5")
    assert agrees(Fraction(100, 54), "1.85185")
    assert agrees(100 * (quick - exact) / exact, "-0.1")


@pytest.mark.parametrize(
    ("fall", "one_in", "percent"),
    [
        pytest.param(30, "233", "0.4286", id=of("W-18", FORUM)),
        pytest.param(45, "156", "0.6429", id=of("W-18", FORUM)),
    ],
)
def test_w_18_falls_over_seven_metres(fall: int, one_in: str, percent: str) -> None:
    """It prints 0.04% and 0.06%, ten times too small, and 1:155, which is 155.6 cut off."""
    slope = read_slope(f"{fall} mm per 7 m")
    assert agrees(1 / slope.ratio, one_in)
    assert agrees(slope.percent, percent)


W_20 = ["0.5 0.25 0", "0.75 0.5 0.25"]


def test_w_20_over_dig_at_six_nodes() -> None:
    """W-20: arithmetic from the stated inputs [DERIVED].

    The weighted sum is 3.0 in, times a quarter of 25 ft2: 18.75 ft2 in, or 1.5625 ft3. Both cells are plane, so that
    grid, triangles and running total agree.
    """
    cubic_feet = Fraction("1.5625")
    assert agrees(cubic_feet / 27, "0.0579")
    spots = [
        Difference(f"{x}-{y}", Length(-depth * INCH), (Length(5 * x * FOOT), Length(5 * y * FOOT)))
        for y, row in enumerate(_rows(*W_20))
        for x, depth in enumerate(row)
    ]
    live = OverDig.of([(spot.name, spot.at) for spot in spots if spot.at is not None])
    assert live.over_dig_of(spots).volume == cubic_feet * FOOT_3
    assert live.over_dug({spot.name: spot.difference for spot in spots}) == cubic_feet * FOOT_3


# Soil and stone -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("swell", "compacted", "looser", "denser"),
    [
        pytest.param("0.11", "0.95", "1.168", "0.856", id=of("Q-05 sand", FROM_THE_INPUTS)),
        pytest.param("0.25", "0.90", "1.389", "0.72", id=of("Q-05 earth", FROM_THE_INPUTS)),
        pytest.param("0.43", "0.90", "1.589", "0.629", id=of("Q-05 clay", FROM_THE_INPUTS)),
    ],
)
def test_soil_put_back_compacted_takes_the_loose_soil_that_was_dug(
    swell: str, compacted: str, looser: str, denser: str
) -> None:
    dug = haul(Fraction(1), Stone(swell=Fraction(swell)))
    ratio = dug.loose / Fraction(compacted)
    assert agrees(ratio, looser)
    assert agrees(1 / ratio, denser)
    put_back = order("fill", Fraction(1), Length(Fraction(compacted)), Stone(compaction=ratio, waste=Fraction(0)))
    assert put_back.loose == dug.loose


GRAVEL_PIT = Source("gravel pit's page", VERIFIED_2)
MATERIALS = Source("materials page", VERIFIED_2)


@pytest.mark.parametrize(
    ("density", "unit", "printed"),
    [
        pytest.param("100 lb/ft^3", "lb/yd^3", "2700", id=of("Q-10", GRAVEL_PIT)),
        pytest.param("2600 lb/yd^3", "ton/yd^3", "1.3", id=of("Q-11", GRAVEL_PIT)),
        pytest.param("100 lb/ft^3", "t/m^3", "1.602", id=of("Q-12", MATERIALS)),
        pytest.param("125 lb/ft^3", "ton/yd^3", "1.69", id=of("Q-15 least", Source("calculator page", VERIFIED_2))),
        pytest.param("145 lb/ft^3", "ton/yd^3", "1.96", id=of("Q-15 most", Source("calculator page", VERIFIED_2))),
        pytest.param(
            "125 lb/ft^3", "t/m^3", "2.0", id=of("Q-15 least, metric", Source("unit conversion", FROM_MEMORY))
        ),
        pytest.param(
            "145 lb/ft^3", "t/m^3", "2.3", id=of("Q-15 most, metric", Source("unit conversion", FROM_MEMORY))
        ),
    ],
)
def test_a_density_is_the_same_in_other_units(density: str, unit: str, printed: str) -> None:
    assert agrees(read_quantity(density, unit), printed)


def test_q_17_an_order_figure_and_a_compacted_density_share_the_ratio() -> None:
    """Q-17: arithmetic from Q-14 and Q-15 [DERIVED]."""
    stone = Stone(density=read_quantity("1.35 ton/yd^3", "kg/m^3"), compaction=Fraction("1.25"))
    assert stone.in_place == read_quantity("1.6875 ton/yd^3", "kg/m^3") == read_quantity("125 lb/ft^3", "kg/m^3")


USUAL = Stone()


@pytest.mark.parametrize(
    ("number", "least", "most"),
    [
        pytest.param(
            USUAL.density,
            read_quantity("1.4 ton/yd^3", "kg/m^3"),
            read_quantity("1.5 ton/yd^3", "kg/m^3"),
            id=of("Q-14 crusher run, loose", Source("several suppliers", COMMON_PRACTICE)),
        ),
        pytest.param(
            USUAL.in_place,
            read_quantity("125 lb/ft^3", "kg/m^3"),
            read_quantity("145 lb/ft^3", "kg/m^3"),
            id=of("Q-15 dense base, compacted", Source("calculator page", VERIFIED_2)),
        ),
        pytest.param(
            USUAL.swell,
            Fraction("0.20"),
            Fraction("0.30"),
            id=of("Q-07 dug soil bulks 20 to 30%", Source("UK how-to", VERIFIED_2)),
        ),
        pytest.param(
            USUAL.waste,
            Fraction("0.05"),
            Fraction("0.10"),
            id=of("Q-18 order 5 to 10% more", Source("supplier pages", COMMON_PRACTICE)),
        ),
    ],
)
def test_a_usual_number_lies_in_its_published_range(number: Fraction, least: Fraction, most: Fraction) -> None:
    assert USUAL.loose
    assert least <= number <= most


def test_the_usual_numbers_are_the_published_ones() -> None:
    """P-39: a contractor's published method, 5 in placed make 4 in [VERIFIED-2]. Q-06: loam 25% [VERIFIED-2].

    Q-10: sand 100 lb/ft3 loose, a gravel pit's page [VERIFIED-2].
    """
    assert USUAL.compaction == Fraction(5, 4)
    assert USUAL.swell == Fraction(25, 100)
    # A pound is 0.45359237 kg, a foot 0.3048 m (24 FR 5348, 1959).
    assert SAND.density == 100 * Fraction("0.45359237") / Fraction("0.3048") ** 3
    assert SAND.density == read_quantity("2700 lb/yd^3", "kg/m^3")


def test_p_40_a_yard_of_sand_covers_300_square_feet_an_inch_thick() -> None:
    """P-40: supplier guide [VERIFIED-2]; 324 ft2 would be exact, so 8% is for waste [DERIVED]."""
    ordered = order("bedding", 300 * FOOT**2, Length(INCH), SAND)
    assert ordered.loose == YARD_3
    assert SAND.waste == Fraction("0.08")


# Worked orders ------------------------------------------------------------------------------------------------

NO_WASTE = Fraction(0)
"""The worked orders add none."""


def test_the_worked_order_in_feet_and_pounds() -> None:
    """Worked (section 4): 12 by 20 ft, base 6 in, 6 in past each edge; from the stated inputs [DERIVED]."""
    patio, past = _rectangle("12", "20", FOOT), Length(6 * INCH)
    stone = Stone(density=read_quantity("140 lb/ft^3", "kg/m^3"), loose=False, waste=NO_WASTE)
    base = order("base", patio, Length(6 * INCH), stone, past)
    assert base.area == 273 * FOOT**2
    assert agrees(100 * (base.area / patio.area - 1), "13.75")
    assert base.compacted == Fraction("136.5") * FOOT_3
    assert agrees(base.compacted / YARD_3, "5.056")
    assert agrees(base.loose / YARD_3, "6.319")
    assert agrees(base.mass / TON, "9.555")
    dig = haul(base.area * Fraction("9.375") * INCH, stone)
    assert agrees(dig.bank / YARD_3, "7.899")
    assert agrees(dig.loose / YARD_3, "9.874")
    sand = order(
        "sand", patio, Length(INCH), Stone(SAND.density, compaction=SAND.compaction, waste=NO_WASTE, usual="sand")
    )
    assert agrees(sand.compacted / YARD_3, "0.741")
    assert sand.mass == TON


def test_the_worked_order_in_metres() -> None:
    """Worked, metric (section 4): 4 by 6 m, base 150 mm, 150 mm out; from the stated inputs [DERIVED]."""
    patio, past = _rectangle("4", "6", Fraction(1)), Length(Fraction("0.15"))
    stone = Stone(density=read_quantity("2.2 t/m^3", "kg/m^3"), loose=False, waste=NO_WASTE)
    base = order("base", patio, Length(Fraction("0.15")), stone, past)
    assert base.area == Fraction("27.09")
    assert base.compacted == Fraction("4.0635")
    assert agrees(base.mass / 1000, "8.940")
    assert agrees(base.loose, "5.079")
    sand = Stone(density=read_quantity("1.6 t/m^3", "kg/m^3"), compaction=Fraction(1), waste=NO_WASTE)
    bedding = order("sand", patio, Length(Fraction("0.03")), sand)
    assert bedding.compacted == Fraction("0.72")
    assert bedding.mass == 1152


# Over-dig -----------------------------------------------------------------------------------------------------


def _over_dug_patio(difference: Length) -> list[Difference]:
    """The worked patio with that difference at its corners and its middle."""
    corners: list[Place] = [*_rectangle("12", "20", FOOT).ring, (Length(6 * FOOT), Length(10 * FOOT))]
    return [Difference(f"P{n}", difference, at) for n, at in enumerate(corners, 1)]


def test_the_worked_over_dig_is_priced_from_the_reading_at_the_rod() -> None:
    """R-03 and over-dig (section 4), both from the stated inputs [DERIVED].

    61 3/16 is read where R-01 wants 60 7/16: 3/4 in too deep; over 273 ft2 it is 0.632 yd3, 1.194 ton, 45.39.
    """
    plan = plan_with(
        "EDGE: {from: ZERO, fall: 3/16 in/ft, over: 15 ft}",
        build_up="[{paver: 2 3/8 in}, {sand: 1 in}, {base: 6 in}]",
        tolerances="{subgrade: 0, base: 0, sand: 0, finish: 0}",
    )
    stood = set_up(plan.rod, plan.benchmarks["ZERO"].elevation, read_length("48 1/4", Units.IN))
    found = stood.elevation(read_length("61 3/16", Units.IN))
    assert found is not None
    difference = found.height - wanted(plan, "EDGE", "subgrade")
    assert difference == read_length("-3/4", Units.IN)

    spots = _over_dug_patio(difference)
    places = [(spot.name, spot.at) for spot in spots]
    dug = OverDig.of(places, _rectangle("12", "20", FOOT), past_edge=Length(6 * INCH)).over_dig_of(spots)
    assert dug.mean == dug.worst == -difference
    assert dug.area == 240 * FOOT**2
    assert dug.volume is not None
    assert agrees(dug.volume / YARD_3, "0.632")
    stone = Stone(
        density=read_quantity("140 lb/ft^3", "kg/m^3"), loose=False, price=read_quantity("38.00 $/ton", "$/kg")
    )
    filled = fill(dug.volume, stone)
    assert agrees(filled.mass / TON, "1.194")
    assert filled.money is not None
    assert agrees(filled.money, "45.39")


def test_the_worked_over_dig_comes_to_the_same_while_it_is_dug() -> None:
    """Over-dig (section 4), from the stated inputs [DERIVED]; with the patio's own outline left to be found."""
    spots = _over_dug_patio(read_length("-3/4", Units.IN))
    live = OverDig.of([(spot.name, spot.at) for spot in spots if spot.at is not None], past_edge=Length(6 * INCH))
    total = live.over_dug({spot.name: spot.difference for spot in spots})
    assert total == 273 * FOOT**2 * Fraction(3, 4) * INCH
    assert agrees(total / YARD_3, "0.632")
