"""What is wrong with a plan is told on its line, in the words of the trade, and all of it at once."""

from __future__ import annotations

import pytest

from tests.plan.sample import WALK, complaint, complaints, marked, spoiled
from tests.tables import each_of

FALL = "fall: 3/16 in/ft, over: 15 ft"
W1 = "W1: {from: DOOR, fall: 3/16 in/ft, over: 15 ft}"
W2 = "W2: -3 1/4 in"
LAYERS = "[{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]"


def _before_the_points(line: str) -> str:
    return spoiled(("    build-up: walk\n", f"    build-up: walk\n    {line}\n"))


UNKNOWN_KEYS = [
    (("rods:", "§rod:"), "“rod” is not a key that belongs here. Did you mean “rods”?"),
    (("fall: 3/16", "§fal: 3/16"), "“fal” is not a key that belongs here. Did you mean “fall”?"),
    (("kind:", "§kimd:"), "“kimd” is not a key that belongs here. Did you mean “kind”?"),
    (("build-up: walk", "§buildup: walk"), "“buildup” is not a key that belongs here. Did you mean “build-up”?"),
    (("what: thr", "§wat: thr"), "“wat” is not a key that belongs here. Did you mean “what”?"),
    (("what: thr", "§zzz: thr"), "“zzz” is not a key that belongs here."),
]
POINTS = [
    # Names and where a point comes from.
    (
        (W1, "W1: {from: §DOR, up: 1, riser: 6}"),
        "There is no point or benchmark “DOR” to start from. Did you mean “DOOR”?",
    ),
    ((W1, "W1: {from: §XYZ, up: 1, riser: 6}"), "There is no point or benchmark “XYZ” to start from."),
    ((W1, "W1: {from: §W1, up: 1, riser: 6}"), "goes round in a circle: W1 from W1;"),
    ((W1, "§W1: {fall: 2%, over: 3 ft}"), "A point needs “elevation:” or “from:”; add one."),
    ((W2, "§W2: {what: by the drain}"), "A point needs “elevation:”, “from:” or “at:” on a surface; add one."),
    ((W2, "§W2: {elevation: 3, from: DOOR}"), "has an elevation or comes from another point, not both"),
    ((W2, "§W2: {elevation: 3, up: 2, riser: 6}"), "has an elevation or comes from another point, not both"),
    # Steps that are half a step.
    (
        (f"W1: {{from: DOOR, {FALL}", "§W1: {from: DOOR, over: 15 ft"),
        "“fall:” (or “rise:”) and “over:” belong together",
    ),
    (
        (f"W1: {{from: DOOR, {FALL}", "§W1: {from: DOOR, fall: 2%"),
        "“fall:” (or “rise:”) and “over:” belong together",
    ),
    (
        (f"W1: {{from: DOOR, {FALL}", "§W1: {from: DOOR, rise: 2%"),
        "“fall:” (or “rise:”) and “over:” belong together",
    ),
    ((W1, "§W1: {from: DOOR, fall: 2%, rise: 1%, over: 3 ft}"), "A run falls or rises, not both"),
    ((W1, "§W1: {from: DOOR, up: 3}"), "“up:” (or “down:”) and “riser:” belong together"),
    ((W1, "§W1: {from: DOOR, down: 3}"), "“up:” (or “down:”) and “riser:” belong together"),
    ((W1, "§W1: {from: DOOR, riser: 6 in}"), "“up:” (or “down:”) and “riser:” belong together"),
    ((W1, "§W1: {from: DOOR, up: 3, down: 2, riser: 6 in}"), "Risers go up or down, not both"),
    # Values of the wrong kind or size.
    *(
        (("fall: 3/16 in/ft", f"fall: §{slope}"), f"“{slope}” is not a slope; write it like 3/16 in/ft, 2% or 1:48.")
        for slope in (
            "3/16 in",
            "3/16 kg/ft",
            "42 $/yd^3",
            "3/16 rod/ft",
            "2",
            "steep",
            "1 in per 0 ft",
            "10**10**10",
        )
    ),
    (("fall: 3/16 in/ft", 'fall: §"1:0"'), "“1:0” has no run"),
    (("fall: 3/16 in/ft", "fall: §80 deg"), "80 degrees is no slope of paving"),
    (("fall: 3/16 in/ft", "§fall: [2%]"), "A slope is expected here, not keys or a list."),
    (("over: 15 ft", "over: §15 kg"), "“kg” in “15 kg” is not a unit of length here"),
    (("over: 15 ft", "over: §0"), "This must be more than zero."),
    (("over: 15 ft", "over: §-15 ft"), "This must be more than zero."),
    (("over: 15 ft", "§over: {ft: 15}"), "A length is expected here, not keys or a list."),
    ((W1, "W1: {from: DOOR, up: §0, riser: 6}"), "“0” is not a number"),
    ((W1, "W1: {from: DOOR, up: §1.5, riser: 6}"), "“1.5” is not a number"),
    ((W1, "W1: {from: DOOR, up: §-2, riser: 6}"), "“-2” is not a number"),
    ((W1, "W1: {from: DOOR, up: §1000, riser: 6}"), "“1000” is not a number"),
    ((W1, "W1: {from: DOOR, up: §\N{ARABIC-INDIC DIGIT THREE}, riser: 6}"), "is not a number"),
    ((W1, "W1: {from: DOOR, up: 3, riser: §0}"), "This must be more than zero."),
    ((W2, "§W2: [3]"), "Keys with values are expected here"),
    (("over: 15 ft", "over: 15 ft, at: §12 ft"), "A list is expected here, in square brackets."),
    (("over: 15 ft", "over: 15 ft, §at: [12 ft]"), "Two lengths are expected here, for example [12 ft, 20 ft]."),
    (("over: 15 ft", "over: 15 ft, §at: []"), "Two lengths are expected here, for example [12 ft, 20 ft]."),
    (("over: 15 ft", "over: 15 ft, §at: [1, 2, 3]"), "Two lengths are expected here, for example [12 ft, 20 ft]."),
    (("over: 15 ft", "over: 15 ft, at: [1, §x]"), "“x” is not a length; type it like 13 13/16."),
]
JOB = [
    (("units: in", "units: §rods"), "“rods” is not possible here; write 'in', 'ft-in', 'ft', 'mm', 'cm' or 'm'."),
    (("units: in", "units: §IN"), "“IN” is not possible here"),
    (("kind: standard", "kind: §backwards"), "“backwards” is not possible here; write 'standard' or 'direct'."),
    (("graduation: 1/16 in", "graduation: §0"), "This must be more than zero."),
    (("graduation: 1/16 in", "graduation: 1/16 in, length: §0"), "This must be more than zero."),
    (("graduation: 1/16 in", "graduation: 1/16 in, units: §yd"), "“yd” is not possible here"),
    (("elevation: 0", "elevation: §high"), "“high” is not a length"),
    (("what: threshold}\n", "what: threshold}\n  §2D: 0\n"), "“2D” could be taken for a reading"),
    # Layers of a build-up.
    (("{bedding: 1 in}", "§{bedding: 0}"), "This must be more than zero."),
    (("{bedding: 1 in}", "§{bedding: 1 kg}"), "“kg” in “1 kg” is not a unit of length here"),
    (("{bedding: 1 in}", "§bedding"), "A layer is one name and one thickness, for example {bedding: 1 in}."),
    (("{bedding: 1 in}", "§{bedding: 1 in, sand: 1 in}"), "A layer is one name and one thickness"),
    (("{bedding: 1 in}", "§{finish: 1 in}"), "A layer can't be called “finish”"),
    (("{bedding: 1 in}", "§{subgrade: 1 in}"), "A layer can't be called “subgrade”"),
    (("walk: " + LAYERS, "§walk: []"), "Nothing is listed here; add at least one entry."),
    (("build-up: walk", "build-up: §wolk"), "There is no build-up “wolk”. Did you mean “walk”?"),
    # Tolerances.
    (
        ("  finish: 1/8 in\nareas:\n  ", "areas:\n  §"),
        "Area “garden walk” has no tolerance for finish; add “finish: …”",
    ),
    (("  base: 3/8 in\n", "  base: 3/8 in\n  §sand: 1/8 in\n"), "No build-up has a stage “sand”."),
    (("high: 1/2 in", "high: §-1/2 in"), "Write this without a minus; the key gives the direction."),
    (("  base: 3/8 in", "  base: §-3/8 in"), "without a minus: 3/8, or {high: 1/2 in, low: 3/8 in}."),
    (("  base: 3/8 in", "  base: §+3/8 in"), "is not a tolerance; write 3/8, +1/2 -3/8, or write {high: "),
    (("  base: 3/8 in", "  base: §10 -1/2"), "“10 -1/2” has a space beside its hyphen; type it like 3-1/2"),
    (
        ("  base: 3/8 in", "  §base: [1/2, -1/4]"),
        "A tolerance is one text, such as 3/8 in or +1/2 in -3/8 in, or {high: ",
    ),
    (("high: 1/2 in", "high: §10 -1/2"), "“10 -1/2” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
    ((W2, "W2: §10 -1/2"), "“10 -1/2” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
    ((W2, "W2: §51 \N{MINUS SIGN}3/8"), "“51 -3/8” has a space beside its hyphen; type it like 3-1/2 or 3 1/2."),
]
AREA = [
    (
        "tolerances: {§sand: 1/8 in}",
        "Area “garden walk” has no stage “sand”; it has subgrade, base, bedding, finish.",
    ),
    ("route: §W1", "A list is expected here, in square brackets."),
    ("§route: [W1]", "The route of area “garden walk” leaves out “W2”; add it, or take the route out."),
    ("route: [W1, W2, §W1]", "“W1” is twice in this route; remove one."),
    ("route: [W1, §W3, W2]", "Area “garden walk” has no point “W3”."),
    ("route: [W1, W2, §W11]", "Area “garden walk” has no point “W11”. Did you mean “W1”?"),
    ("route: [W1, §[W2]]", "A name is expected here, not keys or a list."),
    ("§colour: red", "“colour” is not a key that belongs here."),
]


@each_of(
    ("text", "says"),
    [
        *((spoiled(change), says) for change, says in (*UNKNOWN_KEYS, *POINTS, *JOB)),
        *((_before_the_points(line), says) for line, says in AREA),
    ],
)
def test_one_fault_is_one_complaint_where_it_stands(text: str, says: str) -> None:
    text, [place] = marked(text)
    problem = complaint(text)
    assert says in problem.says
    assert (problem.line, problem.column) == place
    assert str(problem) == f"job.yaml:{place[0]}:{place[1]}: {problem.says}"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            spoiled(("benchmarks:\n", "§benchmark:\n")),
            ["“benchmarks:” is missing here; add it.", "“benchmark” is not a key that belongs here. Did you mean"],
        ),
        (
            spoiled(("elevation: 0", "§elevaton: 0")),
            ["“elevation:” is missing here; add it.", "“elevaton” is not a key"],
        ),
        (spoiled(("high: 1/2 in", "§hihg: 1/2 in")), ["“high:” is missing here; add it.", "“hihg” is not a key"]),
    ],
    ids=["benchmarks", "elevation", "high"],
)
def test_a_key_misspelt_is_also_a_key_missing(text: str, told: list[str]) -> None:
    text, [place] = marked(text)
    missing, unknown = complaints(text)
    assert told[0] in missing.says
    assert told[1] in unknown.says
    assert (unknown.line, unknown.column) == place
    assert (missing.line, missing.column) <= place


@pytest.mark.parametrize("key", ["job", "units", "benchmarks", "areas"])
def test_what_every_job_needs_is_missed_at_the_head_of_the_file(key: str) -> None:
    lines = WALK.splitlines(keepends=True)
    start = next(number for number, line in enumerate(lines) if line.startswith(f"{key}:"))
    end = next((n for n in range(start + 1, len(lines)) if not lines[n].startswith(" ")), len(lines))
    problem = complaint("".join(lines[:start] + lines[end:]))
    assert (problem.line, problem.column, problem.says) == (1, 1, f"“{key}:” is missing here; add it.")


def test_an_empty_list_of_benchmarks_is_told_with_an_example() -> None:
    text = spoiled(("benchmarks:\n  DOOR: {elevation: 0, what: threshold}", "benchmarks: {}"), (W1, "W1: 0"))
    problem = complaint(text)
    assert (problem.line, problem.column) == (5, 1)
    assert problem.says == "At least one benchmark is needed, for example “DOOR: 0”; add it."


def test_a_loop_is_told_once_with_every_point_in_it() -> None:
    text, [place] = marked(
        spoiled(
            (
                W1,
                "W1: {from: W3, up: 1, riser: 6}\n"
                "      W3: {from: §W4, up: 1, riser: 6}\n"
                "      W4: {from: W3, down: 1, riser: 6}\n"
                "      W5: {from: W1, down: 1, riser: 6}",
            )
        )
    )
    problem = complaint(text)
    assert problem.says == "This goes round in a circle: W3 from W4 from W3; give one of them an elevation."
    # The loop is closed by W4, the last of it to be read.
    assert (problem.line, problem.column) == (place[0] + 1, place[1])


def test_points_that_lean_on_a_fault_are_no_faults_of_their_own() -> None:
    text, [place] = marked(
        spoiled(
            (W1, "W1: {from: DOOR, fall: §steep, over: 15 ft}"),
            (W2, "W2: {from: W1, up: 2, riser: 6}\n      W3: {from: W2, down: 1, riser: 6}"),
        )
    )
    problem = complaint(text)
    assert (problem.line, problem.column) == place


@pytest.mark.parametrize(
    "build_up",
    ["build-up: §wolk", "§build-up: [walk]"],
    ids=["unknown", "no-name-at-all"],
)
def test_stages_are_not_questioned_where_the_build_up_itself_is_a_fault(build_up: str) -> None:
    text, [place] = marked(spoiled(("build-up: walk", build_up + "\n    tolerances: {base: 1/4 in}")))
    problem = complaint(text)
    assert (problem.line, problem.column) == place


def test_stages_are_not_questioned_where_the_layers_are_a_fault() -> None:
    text, [place] = marked(
        spoiled(
            ("{bedding: 1 in}", "§{bedding: 1 kg}"),
            ("build-up: walk", "build-up: walk\n    tolerances: {base: 1/4 in}"),
        )
    )
    problem = complaint(text)
    assert (problem.line, problem.column) == place


def test_two_layers_of_one_name_are_told_on_the_second() -> None:
    text, [place] = marked(spoiled(("{base: 6 in}", "§{paver: 6 in}")))
    first = complaints(text)[0]
    assert first.says == "Build-up “walk” has two layers “paver”; give each its own name."
    assert (first.line, first.column) == place


MANY = """\
jobs: Fernhill Mews
units: in
rods:
  site rod: {kind: backwards}
benchmarks:
  DOOR: {elevation: threshold}
  SILL: 4 in
build-ups:
  walk: [{paver: 2 3/8 in}, {bedding: 0}, {base: 6 in}]
  steps: [{tread: 2 in}, {tread: 2 in}]
tolerances:
  base: 3/8 in
  bedding: 1/4 in
  finish: 1/8 in
  finish: 1/4 in
areas:
  garden walk:
    build-up: walk
    points:
      W1: {from: DOOR, fall: steep, over: 15 ft}
      W2: {from: SILL, fall: 2%}
      W3: {from: SIL, up: 2, riser: 6 in}
      W4: &four -3
      2W: 1
  terrace:
    build-up: patio
    points:
      T1: 1_000
  yard:
    points:
      Y1: {from: Y2, up: 1, riser: 6}
      Y2: {from: Y1, up: 1, riser: 6}
      sill: -1
    route: [Y1, Y9]
    tolerances: {sand: 1/4 in}
"""
WHERE = {
    1: ["“job:” is missing", "“jobs” is not a key that belongs here. Did you mean “job”?"],
    4: ["“backwards” is not possible here"],
    6: ["“threshold” is not a length"],
    9: ["more than zero"],
    10: ["two layers “tread”"],
    15: ["“finish” is written twice, first on line 14"],
    20: ["“steep” is not a slope"],
    21: ["belong together"],
    22: ["no point or benchmark “SIL” to start from. Did you mean “SILL”?"],
    23: ["There is an anchor (&)"],
    24: ["“2W” could be taken for a reading"],
    26: ["no build-up “patio”"],
    28: ["“1_000” is not a length"],
    32: ["circle: Y1 from Y2 from Y1"],
    33: ["“sill” is already the name of “SILL” on line 7"],
    34: ["leaves out “Y2”", "leaves out “sill”", "no point “Y9”"],
    35: ["no stage “sand”; it has finish"],
}


def test_all_faults_of_a_file_are_listed_at_once_by_line() -> None:
    problems = complaints(MANY)
    told: dict[int, list[str]] = {}
    for problem in problems:
        told.setdefault(problem.line, []).append(problem.says)
    assert list(told) == sorted(told)
    assert list(told) == list(WHERE)
    for line, wanted in WHERE.items():
        assert len(told[line]) == len(wanted), told[line]
        for part in wanted:
            assert any(part in says for says in told[line]), (line, part, told[line])


@pytest.mark.parametrize("spoil", ["jobs: a\nunits: in\n", "job: a\nunit: in\n", "job: a\nunits: rods\n"])
def test_a_fault_at_the_head_hides_none_below(spoil: str) -> None:
    text, [place] = marked(spoiled(("job: Fernhill Mews\nunits: in\n", spoil), ("from: DOOR", "from: §DOR")))
    assert place in {(problem.line, problem.column) for problem in complaints(text)}


def test_a_fault_in_the_only_benchmark_hides_none_below() -> None:
    text, places = marked(
        spoiled(("elevation: 0", "elevation: §x"), (W2, "W2: {from: §W9, up: 1, riser: 6}")),
    )
    assert [(problem.line, problem.column) for problem in complaints(text)] == places


def test_a_fault_in_an_areas_only_point_hides_none_elsewhere() -> None:
    text, places = marked(
        WALK + "  yard:\n    points:\n      Y1: §x\n  lawn:\n    points:\n      L1: {from: §L9, up: 1, riser: 6}\n"
    )
    assert [(problem.line, problem.column) for problem in complaints(text)] == places
