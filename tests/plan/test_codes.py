"""The rules and their codes: every figure with its source, which holds, and what is said where none does."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations

import pytest

from gradecheck.checks.not_checked import not_limited
from gradecheck.findings.every import findings
from gradecheck.measure.quantities import inches, millimetres
from gradecheck.plan.limits import ANYWHERE, CODES, RULES, Limits
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from gradecheck.report.findings import not_checked_lines
from gradecheck.report.rules import all_rules, rules_of
from tests.tables import each_of

PAVING = "paving institute, interlocking concrete pavement tolerances (about 2020)"
# fmt: off
SOURCES = [
    # rule, code, limit, source
    ("fall at least", "any job", "1.50% (1:66.7)", "paving institute bulletin PAV-TEC-002-22"),
    ("fall wanted", "any job", "2.00% (1:50)", PAVING),
    ("near building", "us-residential", "120 in", "IRC 2018 R401.3"),
    ("near building", "us-commercial", "120 in", "IBC 2012 1804.3, 2018 1804.4 from memory"),
    ("fall near building at least", "us-residential", "2.00% (1:50)",
     "IRC 2018 R401.3, exception for impervious surfaces"),
    ("fall near building at least", "us-commercial", "2.00% (1:50)", "IBC 2012 1804.3, 2018 1804.4 from memory"),
    ("pool deck fall at least", "us-maryland-pools", "2.08% (1:48)", "COMAR 10.17.01.22 A(3)"),
    ("pool deck fall at most", "us-maryland-pools", "4.17% (1:24)", "COMAR 10.17.01.22 A(3)"),
    ("ponding at most", "any job", "5/64 in", "common practice, no source"),
    ("accessible cross fall at most", "us-accessible", "2.08% (1:48)", "ADA Standards 2010, 403.3"),
    ("accessible run at most", "us-accessible", "5.00% (1:20)", "ADA Standards 2010, 403.3"),
    ("ramp at most", "us-accessible", "8.33% (1:12)", "ADA Standards 2010, 405.2"),
    ("ramp rise at most", "us-accessible", "30 in", "ADA Standards 2010, 405.6"),
    ("ramp landing fall at most", "us-accessible", "2.08% (1:48)", "ADA Standards 2010, 405.7"),
    ("ramp landing at least", "us-accessible", "60 in", "ADA Standards 2010, 405.7"),
    ("ramp width at least", "us-accessible", "36 in", "ADA Standards 2010, 405.5, from memory, check"),
    ("level change at most", "us-accessible", "1/4 in", "ADA Standards 2010, 303.2"),
    ("riser at most", "us-residential", "7 3/4 in", "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
    ("riser at most", "us-commercial", "7 in", "IBC 2018 1011.5.2"),
    ("riser at most", "us-accessible", "7 in", "ADA Standards 2010, 504.2"),
    ("riser at least", "us-commercial", "4 in", "IBC 2018 1011.5.2"),
    ("riser at least", "us-accessible", "4 in", "ADA Standards 2010, 504.2"),
    ("riser varies at most", "us-residential", "3/8 in", "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
    ("riser varies at most", "us-commercial", "3/8 in", "IBC 2018 1011.5.4"),
    ("neighbor risers differ at most", "us-residential", "3/16 in", "BOCA 1981, as cited in a trade answer"),
    ("neighbor risers differ at most", "us-commercial", "3/16 in", "BOCA 1981, as cited in a trade answer"),
    ("tread at least", "us-residential", "10 in", "IRC 2018 R311.7.5.2, 2024 R318.7.5.2"),
    ("tread at least", "us-commercial", "11 in", "IBC 2018 1011.5.2"),
    ("tread at least", "us-accessible", "11 in", "ADA Standards 2010, 504.2"),
    ("tread varies at most", "us-residential", "3/8 in", "IRC 2018 R311.7.5.2, 2024 R318.7.5.2"),
    ("tread varies at most", "us-commercial", "3/8 in", "IBC 2018 1011.5.4"),
    ("tread fall at most", "us-residential", "2.08% (1:48)", "IRC 2018 R311.7.7, 2024 R318.7.7"),
    ("tread fall at most", "us-commercial", "2.08% (1:48)", "IBC 2018 1011.7.1, from memory, check"),
    ("tread fall at most", "us-accessible", "2.08% (1:48)", "ADA Standards 2010, 504.4"),
    ("landing fall at most", "us-residential", "2.08% (1:48)", "IRC 2018 R311.7.7, 2024 R318.7.7"),
    ("landing fall at most", "us-commercial", "2.08% (1:48)", "IBC 2018 1011.7.1, from memory, check"),
    ("landing at least", "us-residential", "36 in", "IRC 2018 R311.7.6, 2024 R318.7.6"),
    ("steps width at least", "us-residential", "36 in", "IRC 2018 R311.7.1"),
    ("flight rise at most", "us-residential", "151 in", "IRC 2024 R318.7.3"),
    ("flight rise at most", "us-commercial", "144 in", "IBC 2018 1011.8, as cited in a trade answer"),
    ("handrail from risers", "us-residential", "4", "IRC 2018 R311.7.8, 2024 R318.7.8"),
    ("handrail from risers", "us-commercial", "2", "IBC 2018 1011.11, from memory, check"),
    ("handrail from risers", "us-accessible", "2", "ADA Standards 2010, 504.6"),
    ("guard above drop", "us-residential", "30 in", "IRC 2018 R312.1.1, 2024 R321.1.1"),
    ("guard above drop", "us-commercial", "30 in", "IBC 2018 1015.2, from memory, check"),
    ("guard within", "us-residential", "36 in", "IRC 2018 R312.1.1, 2024 R321.1.1"),
    ("guard within", "us-commercial", "36 in", "IBC 2018 1015.2, from memory, check"),
    ("base at least on a walk", "any job", "4 in", PAVING),
    ("base at least on a driveway", "any job", "6 in", PAVING),
    ("base at least on a street", "any job", "8 in", PAVING),
    ("bedding at least", "any job", "3/4 in", "trade bulletins, from memory, check"),
    ("bedding at most", "any job", "1 1/2 in", "trade bulletins, from memory, check"),
    ("dig past edge at least", "any job", "6 in", PAVING),
    ("way out of dig deeper than", "any job", "48 in", "29 CFR 1926.651(c)(2)"),
    ("protect dig deeper than", "any job", "60 in", "29 CFR 1926.652(a)"),
    ("straightedge", "any job", "120 in", PAVING),
    ("gap at most", "any job", "3/8 in", PAVING),
    ("lippage at most", "any job", "1/8 in", PAVING),
    ("above drain at least", "any job", "1/8 in", "published project manual, section 02518 (2012)"),
    ("above drain at most", "any job", "1/4 in", "published project manual, section 02518 (2012)"),
    ("out of square at most", "any job", "0.08% (1:1200)", "worked out from the bond line's tolerance"),
    ("bond wander at most", "any job", "1/2 in", PAVING),
    ("bond wander over", "any job", "600 in", PAVING),
    ("finish tolerance at most", "any job", "1 in",
     "common practice, no source"),
    ("tolerance at most", "any job", "3 in",
     "common practice, no source"),
    ("top layer at least", "any job", "1/4 in",
     "common practice, no source"),
    ("top layer at most", "any job", "12 in",
     "common practice, no source"),
    ("area at least", "any job", "36 in",
     "common practice, no source"),
    ("site at most", "any job", "63360 in",
     "common practice, no source"),
    ("from the benchmarks at most", "any job", "396 in",
     "common practice, no source"),
    ("alone in height at most", "any job", "48 in",
     "common practice, no source"),
    ("drop between points at most", "any job", "12 in",
     "common practice, no source"),
    ("pitch at most", "any job", "25.00% (1:4)",
     "common practice, no source"),
]
# fmt: on
"""Written out by hand: a figure that is changed, or a source, is changed here too."""


def test_every_figure_is_the_one_of_its_source() -> None:
    assert [(row.name, row.where, row.limit, row.source) for row in all_rules()] == SOURCES


def test_no_source_goes_without_its_edition_or_says_why_it_has_none() -> None:
    editions = ("2018", "2012", "2024", "2020", "2010", "1981", "PAV-TEC-002-22", "29 CFR", "COMAR")
    unpublished = ("common practice, no source", "from memory", "worked out")
    assert [source for *_, source in SOURCES if not any(word in source for word in editions + unpublished)] == []


# Which holds ------------------------------------------------------------------------------------------------------


def _value(codes: Iterable[str], name: str, *, metric: bool = False) -> object:
    limit = Limits(metric=metric, codes=tuple(codes)).get(name)
    return None if limit is None else limit.value


@each_of("name", RULES)
def test_without_a_code_only_what_holds_anywhere_is_a_limit(name: str) -> None:
    limit = Limits().get(name)
    assert (limit is not None) == (ANYWHERE in RULES[name].by)


def test_no_rule_of_a_code_holds_anywhere() -> None:
    anywhere = {name for name, where, _, _ in SOURCES if where == "any job"}
    coded = {name for name, where, _, _ in SOURCES if where != "any job"}
    assert anywhere & coded == set()
    assert {where for _, where, _, _ in SOURCES} == {"any job", *CODES}


@each_of("name", RULES)
@each_of("metric", [False, True])
def test_of_several_codes_the_strictest_holds_in_any_order(name: str, metric: bool) -> None:
    least = name.endswith(("at least", "wanted", "near building", "guard within", "on a walk", "driveway", "street"))
    for one, other in combinations(CODES, 2):
        alone = [value for code in (one, other) if (value := _value([code], name, metric=metric)) is not None]
        both = {_value(order, name, metric=metric) for order in ((one, other), (other, one))}
        assert both == ({(max if least else min)(alone)} if alone else {None})


@pytest.mark.parametrize(
    ("codes", "riser", "tread"),
    [
        (["us-residential"], "7.75", 10),
        (["us-commercial"], "7", 11),
        (["us-residential", "us-commercial"], "7", 11),
        (["us-accessible", "us-residential"], "7", 11),
    ],
)
def test_risers_and_treads_as_the_codes_print_them(codes: list[str], riser: str, tread: int) -> None:
    limits = Limits(codes=codes)
    assert limits["riser at most"].length == inches(Fraction(riser))
    assert limits["tread at least"].length == inches(tread)


def test_in_metric_the_strictest_of_the_printed_millimetres_holds() -> None:
    # 178 mm (IBC) beside 180 mm (ADA), 279 mm beside 280 mm.
    limits = Limits(metric=True, codes=("us-commercial", "us-accessible"))
    assert limits["riser at most"].length == millimetres(178)
    assert limits["tread at least"].length == millimetres(280)


def test_a_rule_of_the_plan_holds_before_any_code() -> None:
    plan = _plan("rules: {riser at most: 8 in}", "codes: [us-commercial]")
    assert plan.limits()["riser at most"].length == inches(8)
    assert plan.limits()["riser at most"].source == "the plan"
    without = _plan("rules: {riser at most: 8 in}", "")
    assert without.limits()["riser at most"].length == inches(8)


def test_sources_that_say_the_same_are_both_named() -> None:
    limit = Limits(codes=("us-commercial", "us-accessible"))["riser at most"]
    assert limit.source == "IBC 2018 1011.5.2; ADA Standards 2010, 504.2"


# In the job file --------------------------------------------------------------------------------------------------

HOUSE = """\
job: Finch Row
units: in
{top}
{codes}
benchmarks: {{DOOR: {{elevation: 0, at: [0, 0]}}}}
walls: {{HOUSE: [[0, -20 ft], [0, 20 ft]]}}
tolerances: {{finish: 1/8}}
areas:
  terrace:
    {area}
    surface: {{at: DOOR, fall: {{x: 1.6%}}}}
    points: {{A: {{at: [2 ft, 0]}}, B: {{at: [9 ft, 0]}}}}
  steps:
    flight: {{from: B, down: 3, riser: 7.5, tread: 10.5, landings: {{1: {{length: 48}}}}}}
  ramp:
    ramp: {{from: A, fall: 1:11, runs: [10 ft], landing: 5 ft}}
"""


def _plan(top: str, codes: str, area: str = "use: patio") -> Plan:
    return read_plan(HOUSE.format(top=top, codes=codes, area=area), "job.yaml")


def _found(plan: Plan) -> set[tuple[str, str]]:
    return {(each.area, each.what) for each in findings(plan) if each.severity == "fault"}


def test_without_a_code_nothing_is_held_to_one_and_that_is_said() -> None:
    plan = _plan("", "")
    assert _found(plan) == set()
    assert not_checked_lines(plan) == [
        "line 9: NOT CHECKED: terrace: no code is named for the slope near a building; name what the drawings name, "
        "such as “codes: [us-residential]”, or set it under “rules:”.",
        "line 13: NOT CHECKED: steps: no code is named for risers, treads, landings, handrails and guards; "
        "name what the drawings name, such as “codes: [us-residential]”, or set it under “rules:”.",
        "line 15: NOT CHECKED: ramp: no code is named for ramps; name what the drawings name, "
        "such as “codes: [us-accessible]”, or set it under “rules:”.",
    ]


@pytest.mark.parametrize(
    ("codes", "faults"),
    [
        ("us-residential", {("terrace", "fall near the building")}),
        ("us-commercial", {("terrace", "fall near the building"), ("steps", "riser"), ("steps", "tread")}),
        ("us-accessible", {("steps", "riser"), ("steps", "tread"), ("ramp", "ramp")}),
        ("us-maryland-pools", set()),
    ],
)
def test_a_plan_is_held_to_the_codes_it_names(codes: str, faults: set[tuple[str, str]]) -> None:
    assert _found(_plan("", f"codes: [{codes}]")) == faults
    assert _found(_plan("", f"codes: {codes}")) == faults, "one alone needs no brackets"


def test_an_area_may_have_its_own_codes_in_place_of_the_jobs() -> None:
    assert ("terrace", "fall near the building") not in _found(_plan("", "codes: us-residential", "codes: []"))
    assert ("terrace", "fall near the building") in _found(_plan("", "", "codes: [us-commercial]"))


def test_an_area_whose_limits_the_plan_sets_itself_is_not_called_unchecked() -> None:
    plan = _plan("", "", "rules: {near building: 5 ft, fall near building at least: 1.6%}")
    assert list(not_limited(plan, plan.areas["terrace"])) == []
    assert _found(plan) == set()


def test_a_walk_under_accessible_rules_says_whether_it_is_such_a_route() -> None:
    silent = _plan("", "codes: [us-residential, us-accessible]", "use: walk")
    (asked,) = not_limited(silent, silent.areas["terrace"])
    assert (asked.check, asked.why) == (
        "accessible route",
        "the plan does not say whether terrace is an accessible route",
    )
    said = _plan("", "codes: [us-residential, us-accessible]", "use: walk\n    accessible: yes")
    assert list(not_limited(said, said.areas["terrace"])) == []


def test_rules_of_a_job_list_every_rule_and_what_an_area_has_otherwise() -> None:
    rows = rules_of(_plan("", "codes: us-residential", "rules: {fall wanted: 1.5%}"))
    assert [row.name for row in rows if row.where == "the job"] == list(RULES)
    assert [(row.name, row.limit, row.source) for row in rows if row.where != "the job"] == [
        ("fall wanted", "1.50% (1:66.7)", "the plan")
    ]
    by_name = {row.name: (row.limit, row.source) for row in rows if row.where == "the job"}
    assert by_name["riser at most"] == ("7 3/4 in", "IRC 2018 R311.7.5.1, 2024 R318.7.5.1")
    assert by_name["ramp at most"] == ("no limit", "only us-accessible sets one")


@pytest.mark.parametrize(
    ("rule", "offered"),
    [
        ("foo", " “gradecheck rules” lists them all."),
        ("risr at most", "Did you mean “riser at most”"),
        ("max riser", "“riser at most”"),
        ("cross fall", "“accessible cross fall at most”"),
        ("ponding", "“ponding at most”"),
        ("guard", "“guard above drop” or “guard within”"),
        ("Riser At Most", "“riser at most”"),
    ],
)
def test_a_rule_that_is_none_offers_the_near_ones_and_where_all_are_listed(rule: str, offered: str) -> None:
    with pytest.raises(PlanProblemsError) as wrong:
        _plan(f"rules: {{{rule}: 1}}", "")
    (problem,) = wrong.value.problems
    assert problem.says.startswith(f"There is no rule “{rule}”.")
    assert offered in problem.says
    assert problem.says.endswith("“gradecheck rules” lists them all.")
    assert problem.line == 3


@pytest.mark.parametrize(
    ("codes", "says"),
    [
        ("codes: [us-comercial]", "There is no code “us-comercial”; known are us-residential, us-commercial, "
         "us-accessible and us-maryland-pools. Did you mean “us-commercial”?"),
        ("codes: ibc", "There is no code “ibc”; known are us-residential, us-commercial, us-accessible and "
         "us-maryland-pools."),
        ("codes: {us-residential: yes}", "Codes are a list, for example [us-residential]; known are us-residential, "
         "us-commercial, us-accessible and us-maryland-pools."),
        ("codes: [[us-residential]]", "A code is a name; known are us-residential, us-commercial, us-accessible and "
         "us-maryland-pools."),
    ],
)  # fmt: skip
def test_a_code_that_is_none_is_told_on_its_line_with_those_there_are(codes: str, says: str) -> None:
    with pytest.raises(PlanProblemsError) as wrong:
        _plan("", codes)
    (problem,) = wrong.value.problems
    assert (problem.line, problem.says) == (4, says)
