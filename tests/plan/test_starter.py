"""A new job's file: whatever was answered, it can be read back as it was given, and nothing is found in it."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.checks.not_checked import not_limited
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.plan.folder_names import folder_fault, folder_for, title_for
from gradecheck.plan.limits import CODES
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.starter import (
    BUILD_UPS,
    FINISH_ALONE,
    KINDS,
    AreaKind,
    JobAnswers,
    NotPossibleError,
    Tolerances,
    areas_fault,
    starter_text,
    text_fault,
    zero_fault,
)
from tests.tables import each_of

EVERY_KIND: tuple[tuple[str, AreaKind], ...] = tuple((kind, kind) for kind in KINDS)
CHOICES = [(kind, word) for kind in KINDS for word in BUILD_UPS[kind]]


def plan_of(answers: JobAnswers) -> Plan:
    """The plan that the starter means, once its figures are one's own; a problem in it is an error."""
    return read_plan(re.sub("<--$", "", starter_text(answers), flags=re.MULTILINE), "job.yaml")


def beyond_reminders(plan: Plan) -> list[str]:
    """The checks that found something to act on."""
    return [each.what for each in findings(plan) if each.severity is not Severity.REMINDER]


# -- what every starter keeps


@each_of("units", Units)
@each_of(("kind", "build_up"), CHOICES)
def test_nothing_is_found_in_a_new_job_of_any_units_kind_and_build_up(
    units: Units, kind: AreaKind, build_up: str
) -> None:
    plan = plan_of(JobAnswers(units=units, areas=(("there", kind),), build_ups={kind: build_up}))
    assert findings(plan) == []
    area = plan.areas["there"]
    assert (plan.notation.units, area.use, len(area.points) > 1) == (units, kind, True)
    assert (area.build_up is None) == (build_up == FINISH_ALONE)


@pytest.mark.parametrize("metric", [False, True])
def test_a_new_job_has_nothing_but_reminders_under_any_codes(metric: bool) -> None:
    units = Units.MM if metric else Units.IN
    for number in range(len(CODES) + 1):
        for codes in combinations(CODES, number):
            plan = plan_of(JobAnswers(units=units, areas=EVERY_KIND, codes=codes))
            assert plan.codes == codes
            assert beyond_reminders(plan) == []
            unsaid = [each.check for area in plan.areas.values() for each in not_limited(plan, area)]
            assert "accessible route" not in unsaid
            assert unsaid == [] or set(codes) < set(CODES)


def test_a_file_begun_without_codes_says_how_to_name_them() -> None:
    text = starter_text(JobAnswers())
    assert "\n# codes: [us-residential]\n" in text
    assert all(f"#   {code}: {what}\n" in text for code, what in CODES.items())


@pytest.mark.parametrize("units", Units)
def test_nothing_is_found_in_a_job_with_each_kind_three_times(units: Units) -> None:
    areas = tuple((f"{name} {number}", kind) for number in range(3) for name, kind in EVERY_KIND)
    plan = plan_of(JobAnswers(units=units, areas=areas))
    assert findings(plan) == []
    assert [(area.name, area.use) for area in plan.areas.values()] == list(areas)


@pytest.mark.parametrize("units", Units)
def test_nothing_is_found_when_the_remarks_are_followed(
    units: Units,
) -> None:
    text = starter_text(JobAnswers(units=units, areas=EVERY_KIND))
    changed = re.sub(r"walls:\n.*\n", "", text).replace("# instrument:", "instrument:")
    plan = read_plan(changed.replace("<--", "ours"), "job.yaml")
    assert (plan.walls, plan.instrument is None) == ({}, False)
    assert beyond_reminders(plan) == []


@pytest.mark.parametrize("units", Units)
def test_lines_fit_a_window_and_what_is_to_be_changed_is_marked(units: Units) -> None:
    lines = starter_text(JobAnswers(units=units, areas=EVERY_KIND)).splitlines()
    assert max(map(len, lines)) <= 118
    assert not any(line != line.rstrip() for line in lines)
    for begins in ("DOOR:", "house:", "layers:", "outline:", "grid:", "riser:", "runs:", "W1:"):
        found = [line for line in lines if line.strip().startswith(begins)]
        assert found, begins
        assert all(line.endswith("<--") for line in found), begins


def test_each_section_is_explained_on_the_line_above_it() -> None:
    lines = starter_text(JobAnswers(areas=EVERY_KIND)).splitlines()
    for section in ("rods:", "benchmarks:", "walls:", "build-ups:", "tolerances:"):
        assert lines[lines.index(section) - 1].startswith("# "), section


def test_the_thicknesses_name_their_source() -> None:
    text = starter_text(JobAnswers(areas=(("yard", "driveway"), ("way", "walk"))))
    source = "paving institute, interlocking concrete pavement tolerances (about 2020)"
    assert f"# Base at least on a driveway 6 in: {source}." in text
    assert f"# Base at least on a walk 4 in: {source}." in text


@pytest.mark.parametrize(
    ("kind", "units", "base"),
    [
        ("walk", Units.IN, inches(4)),
        ("walk", Units.MM, millimetres(100)),
        ("driveway", Units.IN, inches(6)),
        ("driveway", Units.M, millimetres(150)),
    ],
    ids=["P-04 in", "P-04 mm", "P-05 in", "P-05 mm"],
)
def test_the_base_is_as_thick_as_published(kind: AreaKind, units: Units, base: Length) -> None:
    build_up = plan_of(JobAnswers(units=units, areas=(("there", kind),))).areas["there"].build_up
    assert build_up is not None
    assert {layer.name: layer.thickness for layer in build_up.layers}["base"] == base


# -- examples that make sense


def test_each_kind_has_the_points_such_an_area_has() -> None:
    plan = plan_of(JobAnswers(areas=EVERY_KIND))
    names = {name: [point.name for point in area.points] for name, area in plan.areas.items()}
    assert names["walk"] == ["W1", "W2", "W3", "W4", "W5", "W6"]
    assert names["steps"] == ["S0", "S1", "S2", "S3"]
    assert names["ramp"] == ["R0", "R1", "R1L", "R2", "R2L"]
    assert names["patio"][:3] == ["P1", "P1-1", "P1-2"]
    assert names["driveway"][:2] == ["D1", "DL1"]
    assert names["pool deck"][:2] == ["K1", "K1-1"]
    patio = plan.areas["patio"]
    assert patio.surface is not None
    assert patio.outline is not None
    assert [fall.ratio for fall in patio.surface.planes[0].falls] == [Fraction(1, 100), Fraction(2, 100)]


def test_every_point_has_a_place_of_its_own() -> None:
    plan = plan_of(JobAnswers(areas=EVERY_KIND))
    spots = [point.spot for area in plan.areas.values() for point in area.points]
    assert None not in spots
    assert len({(spot.at, spot.z) for spot in spots if spot}) == len(spots)


# -- names, however hostile

HOSTILE = (
    "it's", 'the "old" one', "a: b", "a #b", "#", "- x", "[x]", "{y: z}", "&a", "*a", "!t", "| x", "> x", "%", "@",
    "`", "null", "yes", "~", "1:48", "010", "<<", "=", "? x", "\\", "''", '"', ",", "Wände", "庭", "🧱",
    "e\u0301tage", "x  y", "a\N{NO-BREAK SPACE}b", "<zero>", "<12>", "<no mark>",
)  # fmt: skip


@each_of("name", HOSTILE)
def test_a_hostile_name_is_read_back_as_it_was_given(name: str) -> None:
    answers = JobAnswers(title=name, zero=f"Z{name}", zero_is=name, areas=((name, "patio"), (f"{name}.", "steps")))
    plan = plan_of(answers)
    assert plan.job == answers.title
    assert [(mark.name, mark.what) for mark in plan.benchmarks.values()] == [(answers.zero, answers.zero_is)]
    assert list(plan.areas) == [name for name, _ in answers.areas]
    assert findings(plan) == []


TEXTS = st.text(max_size=30).map(str.strip)


@given(title=TEXTS, zero=TEXTS, zero_is=TEXTS, names=st.lists(TEXTS, max_size=3), kind=st.sampled_from(KINDS))
@example(title="Quillmere Court", zero="DOOR", zero_is="threshold of the hall", names=["yard", "path"], kind="walk")
def test_any_names_are_read_back_or_refused_with_a_sentence(
    title: str, zero: str, zero_is: str, names: list[str], kind: AreaKind
) -> None:
    areas = tuple((name, kind) for name in names)
    fault = text_fault(title, "title") or text_fault(zero_is, "text") or zero_fault(zero) or areas_fault(areas)
    if fault or not title:
        with pytest.raises(NotPossibleError, match=r"^[^\n]*\.$"):
            JobAnswers(title=title, zero=zero, zero_is=zero_is, areas=areas)
        return
    answers = JobAnswers(title=title, zero=zero, zero_is=zero_is, areas=areas)
    plan = plan_of(answers)
    assert (plan.job, list(plan.benchmarks)) == (answers.title, [answers.zero])
    assert list(plan.areas) == [name for name, _ in answers.areas]
    assert beyond_reminders(plan) == []


PRINTED = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)

LATIN = st.text(st.characters(categories=["L", "N", "P", "S"], max_codepoint=0x024F), min_size=1, max_size=12)
RUSSIAN = st.text(st.characters(min_codepoint=0x0410, max_codepoint=0x044F), min_size=1, max_size=12)
EASTERN = st.text(st.characters(min_codepoint=0x4E00, max_codepoint=0x9FA5), min_size=1, max_size=12)
NAMED = LATIN | RUSSIAN | EASTERN
"""A word is written in one alphabet; a title may hold any."""


@given(title=PRINTED, zero=LATIN, name=NAMED, kind=st.sampled_from(KINDS), units=st.sampled_from(Units))
def test_any_letters_figures_and_signs_make_a_name(
    title: str, zero: str, name: str, kind: AreaKind, units: Units
) -> None:
    answers = JobAnswers(title=title, units=units, zero=f"M{zero}", areas=((name, kind),))
    plan = plan_of(answers)
    assert (plan.job, list(plan.benchmarks), list(plan.areas)) == (
        answers.title,
        [answers.zero],
        [answers.areas[0][0]],
    )
    assert beyond_reminders(plan) == []


@pytest.mark.parametrize("zero", ["P1", "p1-1", "W1", "w6", "s0", "S3", "r1l", "R2L", "DL1", "dr2", "K1", "k3-2"])
def test_a_zero_called_like_an_examples_point_makes_the_points_give_way(zero: str) -> None:
    plan = plan_of(JobAnswers(zero=zero, areas=EVERY_KIND))
    assert zero in plan.benchmarks
    assert findings(plan) == []


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"title": " "}, "A job needs a title; give one."),
        ({"title": "x" * 121}, "This title is longer than 120 characters; shorten it."),
        ({"title": "a\nb"}, "This title has a character in it that can't be seen; write it without."),
        ({"zero": "1A"}, "“1A” could be taken for a reading; begin a point or mark with a letter."),
        ({"zero": ""}, "A name is empty; give it one that can be painted on a stake."),
        ({"zero_is": "\u202eback"}, "This text has a character in it that can't be seen; write it without."),
        ({"areas": ()}, "A job needs an area; name one."),
        (
            {"areas": (("A", "walk"), ("a", "patio"))},
            "Two areas are called “a”; give each a name of its own.",
        ),
        (
            {"areas": (("A", "moat"),)},
            "“moat” is not a kind of area; write patio, walk, driveway, steps, ramp or pool deck.",
        ),
        (
            {"areas": tuple((f"A{number}", "walk") for number in range(21))},
            "These are more than 20 areas; begin with fewer.",
        ),
        ({"build_ups": {"patio": "mud"}}, "“mud” is not a build-up here; known are pavers, deep, finish."),
        ({"graduation": feet(1)}, "A rod's marks are more than zero and at most 2 in (50 mm) apart."),
        (
            {"graduation": Length(Fraction(1, 700))},
            "A length is finer here than it can be written; take one with four decimals or fewer.",
        ),
    ],
)
def test_what_no_job_file_can_hold_is_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(NotPossibleError) as refused:
        JobAnswers(**changes)  # type: ignore[arg-type]
    assert str(refused.value) == says


# -- tolerances and marks


def test_a_lower_surface_held_tighter_is_refused_and_one_held_alike_is_not() -> None:
    alike = inches(Fraction(1, 4))
    plan = plan_of(JobAnswers(tolerances=Tolerances(alike, alike, alike, alike)))
    assert findings(plan) == []
    with pytest.raises(NotPossibleError, match=r"^The base is held tighter than the bedding above it;"):
        Tolerances(alike, alike, inches(Fraction(3, 16)), alike)


@given(
    units=st.sampled_from(Units),
    steps=st.lists(st.integers(0, 40), min_size=3, max_size=3),
    finest=st.integers(1, 40),
    marks=st.integers(1, 16),
    kinds=st.lists(st.sampled_from(KINDS), min_size=1, max_size=3, unique=True),
)
def test_tolerances_and_marks_are_read_back_exactly(
    units: Units, steps: list[int], finest: int, marks: int, kinds: list[AreaKind]
) -> None:
    step = units.graduation
    limits = [step * (finest + sum(steps[:number])) for number in range(4)]
    tolerances = Tolerances(*limits)
    graduation = step * marks
    plan = plan_of(
        JobAnswers(
            units=units,
            areas=tuple((kind, kind) for kind in kinds),
            tolerances=tolerances,
            graduation=graduation,
        )
    )
    assert plan.rod.notation.graduation == graduation
    for area in plan.areas.values():
        assert [area.tolerances[stage].high for stage in ("finish", "base", "subgrade")] == [
            limits[0],
            limits[2],
            limits[3],
        ]
    slips = ("tolerance", "tolerance against the layer")
    found = beyond_reminders(plan)
    assert [each for each in found if each not in slips] == []
    if limits[3] < inches(Fraction(1, 2)):  # wider than that is asked about, sooner or later
        assert found == []


# -- folders


@each_of(
    "name",
    [
        "", " ", ".", "..", ".hidden", "-x", "~x", "a/b", "a\\b", "a:b", "a*", "a?", 'a"', "a<", "a>", "a|", "a\0",
        "a\nb", "a\x7f", "a\u202eb", "a.", "a ", " a", "a. .", "con", "CON", "Con.yard", "aux ", "nul.a.b", "COM1",
        "lpt9.x", "com¹", "con .x", "conin$", "prn", "x" * 61, "\ud800",
    ],
)  # fmt: skip
def test_a_name_that_some_system_would_not_take_is_refused_with_a_sentence(name: str) -> None:
    assert (folder_fault(name) or "").endswith((".", "…"))


@pytest.mark.parametrize(
    "name", ["a", "Alder yard", "alder-yard", "2026 court", "Höfe", "庭", "console", "com10", "a.b"]
)
def test_a_plain_name_makes_a_folder(name: str) -> None:
    assert folder_fault(name) is None


@given(st.text(max_size=100))
def test_every_title_makes_a_folders_name_that_can_be_had(title: str) -> None:
    assert folder_fault(folder_for(title)) is None


def test_titles_and_folders_are_made_from_each_other() -> None:
    assert folder_for("Mill Lane: north court") == "mill-lane-north-court"
    assert title_for("mill-lane_north court") == "Mill lane north court"
    assert title_for("--") == "--"
