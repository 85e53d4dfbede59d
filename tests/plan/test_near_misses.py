"""What people write that is not of the job file is refused with what is written instead."""

from __future__ import annotations

import pytest

from tests.plan.sample import WALK, complaint, complaints, marked, plan_of, spoiled

W1 = "W1: {from: DOOR, fall: 3/16 in/ft, over: 15 ft}"
W2 = "W2: -3 1/4 in"
AREA = "build-up: walk\n"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("job:", "§date: 2026-05-01\njob:"), "The log dates every entry by itself; remove it."),
        (("job:", "§zero: DOOR\njob:"), "The zero is a benchmark: write “benchmarks: {DOOR: 0}”."),
        ((W1, "W1: {from: DOOR, §slope: 2%, over: 15 ft}"), "Write “fall:” or “rise:”."),
        ((W1, "W1: {from: DOOR, §grade: 2%, over: 15 ft}"), "Write “fall:” or “rise:”."),
        ((W1, "W1: {from: DOOR, fall: 2%, §run: 15 ft}"), "Write “over:”."),
        ((W1, "W1: {from: DOOR, fall: 2%, §length: 15 ft}"), "Write “over:”."),
        ((W2, "W2: {§same as: W1}"), "For the same elevation write “from:” with that point alone."),
        ((W2, "W2: {§between: [W1, DOOR]}"), "A point comes “from:” one other, or lies on the area's surface."),
        (
            (AREA, AREA + "    §same as: garden\n"),
            "Write “build-up:” and what else is the same",
        ),
        ((AREA, AREA + "    surface: {§between: [A, B]}\n"), "“corners:” or “through:”"),
        ((AREA, AREA + "    surface: {at: W2, §slope: {x: 2%}}\n"), "Write “fall:”."),
        (
            (AREA, AREA + "    ramp: {from: W2, §slope: 1:14, runs: 9 ft}\n"),
            "Write “fall:” or",
        ),
        ((AREA, AREA + "    ramp: {from: W2, fall: 1:14, §run: 9 ft}\n"), "Write “runs:”."),
    ],
)
def test_a_key_of_other_words_is_refused_with_ours(change: tuple[str, str], says: str) -> None:
    text, [place] = marked(spoiled(change))
    [problem] = [each for each in complaints(text) if (each.line, each.column) == place]
    assert " is not a key that belongs here. " in problem.says
    assert says in problem.says


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            (W1, "W1: {from: DOOR, fall: 2%, over: §1,5 ft}"),
            "The comma in “1,5 ft” ends the value; write a decimal point, or no comma.",
        ),
        (
            (W1, "W1: {from: DOOR, fall: 2%, over: §1,250}"),
            "The comma in “1,250” ends the value; write a decimal point, or no comma.",
        ),
        (
            ("job:", "stone: {density: §1,5 ton/yd^3}\njob:"),
            "The comma in “1,5 ton/yd^3” ends the value; write a decimal point, or no comma.",
        ),
        (
            (W2, "W2: {elevation: 0, §at: [1,5 m, 2 m]}"),
            "The comma in “1,5 m” ends the value; write a decimal point, or no comma.",
        ),
        (
            (W2, "W2: {elevation: 0, §at: [1, 2,5 m]}"),
            "The comma in “2,5 m” ends the value; write a decimal point, or no comma.",
        ),
        (
            (W2, "W2: {elevation: 0, §at: [1, 2, 5 m]}"),
            "Two lengths are expected here, for example [12 ft, 20 ft].",
        ),
    ],
)
def test_a_decimal_comma_is_told_as_one(change: tuple[str, str], says: str) -> None:
    text, [place] = marked(spoiled(change))
    problem = complaint(text)
    assert ((problem.line, problem.column), problem.says) == (place, says)


@pytest.mark.parametrize(
    ("change", "keys"),
    [
        ((AREA, AREA + "    drains: §2%\n"), "away from, into, at least, at most"),
        ((AREA, AREA + "    grid: §6 ft\n"), "every, inside, holes, name, start"),
        (("job:", "instrument: §good\njob:"), "beam, receiver, longest shot, plumb, adjust beyond"),
        (("job:", "stone: §3\njob:"), "density, loose, price, compaction, waste, swell, truck"),
        ((W2, "§W2: [1, 2]"), "from, fall, rise, over, up, down, riser, elevation and others"),
        ((AREA, AREA + "    edges: {E: §5 ft}\n"), "every, stations, along, left, right, below"),
    ],
)
def test_where_keys_are_expected_they_are_named(change: tuple[str, str], keys: str) -> None:
    text, [place] = marked(spoiled(change))
    problem = complaint(text)
    assert (problem.line, problem.column) == place
    assert problem.says == f"Keys with values are expected here: {keys}."


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("job:", "bonds: §running\njob:"), "Names are expected here, each with its keys: from, unit, length"),
        (
            (AREA, AREA + "    edges: §5 ft\n"),
            "Names are expected here, each with its keys: every, stations, along",
        ),
    ],
)
def test_where_names_are_expected_the_keys_behind_them_are_named(change: tuple[str, str], says: str) -> None:
    text, [place] = marked(spoiled(change))
    problem = complaint(text)
    assert (problem.line, problem.column) == place
    assert problem.says.startswith(says)


@pytest.mark.parametrize(
    ("unit", "spelling"),
    [("cy", "yd^3"), ("cu yd", "yd^3"), ("cu ft", "ft^3"), ("cum", "m^3"), ("cubic yard", "yd^3")],
)
def test_a_volume_in_other_words_is_refused_with_ours(unit: str, spelling: str) -> None:
    problem = complaint(f"stone: {{density: 1.5 ton/{unit}}}\n{spoiled()}")
    assert problem.says == f"“{unit}” is not a unit known here; write {spelling}."


def test_a_cubic_yard_is_read_with_and_without_a_sign_for_the_power() -> None:
    stone = "stone: {{density: 1.5 ton/{0}, price: $57/{0}}}\n"
    plain, signed = (plan_of(stone.format(unit) + WALK) for unit in ("yd3", "yd^3"))
    assert plain.stone == signed.stone
