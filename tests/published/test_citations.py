"""Each limit is the number that its source prints, and names that source: edition, section, how well it is known.

What stands under a figure on a sheet is what an inspector looks up; a wrong section there is a wrong answer.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.plan.limits import RULES, Limits
from tests.tables import each_of

TOLERANCES = "paving institute, interlocking concrete pavement tolerances (about 2020)"
IMPERVIOUS = "IRC 2018 R401.3, exception for impervious surfaces"

CITED: list[tuple[str, str, str, int | None, str]] = [
    # rule, code (none: any job), the number in US units, the millimetres printed for metric work, the source
    ("fall at least", "", "1.5%", None, "paving institute bulletin PAV-TEC-002-22"),
    ("fall wanted", "", "2%", None, TOLERANCES),
    ("near building", "us-residential", "10 ft", 3048, "IRC 2018 R401.3"),
    ("near building", "us-commercial", "10 ft", 3048, "IBC 2012 1804.3, 2018 1804.4 from memory"),
    (
        "fall near building at least",
        "us-residential",
        "2%",
        None,
        "IRC 2018 R401.3, exception for impervious surfaces",
    ),
    ("fall near building at least", "us-commercial", "2%", None, "IBC 2012 1804.3, 2018 1804.4 from memory"),
    ("pool deck fall at least", "us-maryland-pools", "1:48", None, "COMAR 10.17.01.22 A(3)"),
    ("pool deck fall at most", "us-maryland-pools", "1:24", None, "COMAR 10.17.01.22 A(3)"),
    ("ponding at most", "", "2 mm", None, "common practice, no source"),
    ("accessible cross fall at most", "us-accessible", "1:48", None, "ADA Standards 2010, 403.3"),
    ("accessible run at most", "us-accessible", "1:20", None, "ADA Standards 2010, 403.3"),
    ("ramp at most", "us-accessible", "1:12", None, "ADA Standards 2010, 405.2"),
    ("ramp rise at most", "us-accessible", "30 in", 760, "ADA Standards 2010, 405.6"),
    ("ramp landing fall at most", "us-accessible", "1:48", None, "ADA Standards 2010, 405.7"),
    ("ramp landing at least", "us-accessible", "60 in", 1525, "ADA Standards 2010, 405.7"),
    ("ramp width at least", "us-accessible", "36 in", None, "ADA Standards 2010, 405.5, from memory, check"),
    ("level change at most", "us-accessible", "1/4 in", None, "ADA Standards 2010, 303.2"),
    ("riser at most", "us-residential", "7 3/4 in", 196, "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
    ("riser at most", "us-commercial", "7 in", 178, "IBC 2018 1011.5.2"),
    ("riser at most", "us-accessible", "7 in", 180, "ADA Standards 2010, 504.2"),
    ("riser at least", "us-commercial", "4 in", 102, "IBC 2018 1011.5.2"),
    ("riser at least", "us-accessible", "4 in", 100, "ADA Standards 2010, 504.2"),
    ("riser varies at most", "us-residential", "3/8 in", None, "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
    ("riser varies at most", "us-commercial", "3/8 in", None, "IBC 2018 1011.5.4"),
    ("neighbor risers differ at most", "us-residential", "3/16 in", None, "BOCA 1981, as cited in a trade answer"),
    ("neighbor risers differ at most", "us-commercial", "3/16 in", None, "BOCA 1981, as cited in a trade answer"),
    ("tread at least", "us-residential", "10 in", 254, "IRC 2018 R311.7.5.2, 2024 R318.7.5.2"),
    ("tread at least", "us-commercial", "11 in", 279, "IBC 2018 1011.5.2"),
    ("tread at least", "us-accessible", "11 in", 280, "ADA Standards 2010, 504.2"),
    ("tread varies at most", "us-residential", "3/8 in", None, "IRC 2018 R311.7.5.2, 2024 R318.7.5.2"),
    ("tread varies at most", "us-commercial", "3/8 in", None, "IBC 2018 1011.5.4"),
    ("tread fall at most", "us-residential", "1:48", None, "IRC 2018 R311.7.7, 2024 R318.7.7"),
    ("tread fall at most", "us-commercial", "1:48", None, "IBC 2018 1011.7.1, from memory, check"),
    ("tread fall at most", "us-accessible", "1:48", None, "ADA Standards 2010, 504.4"),
    ("landing fall at most", "us-residential", "1:48", None, "IRC 2018 R311.7.7, 2024 R318.7.7"),
    ("landing fall at most", "us-commercial", "1:48", None, "IBC 2018 1011.7.1, from memory, check"),
    ("landing at least", "us-residential", "36 in", None, "IRC 2018 R311.7.6, 2024 R318.7.6"),
    ("steps width at least", "us-residential", "36 in", None, "IRC 2018 R311.7.1"),
    ("flight rise at most", "us-residential", "151 in", None, "IRC 2024 R318.7.3"),
    ("flight rise at most", "us-commercial", "144 in", None, "IBC 2018 1011.8, as cited in a trade answer"),
    ("handrail from risers", "us-residential", "4", None, "IRC 2018 R311.7.8, 2024 R318.7.8"),
    ("handrail from risers", "us-commercial", "2", None, "IBC 2018 1011.11, from memory, check"),
    ("handrail from risers", "us-accessible", "2", None, "ADA Standards 2010, 504.6"),
    ("guard above drop", "us-residential", "30 in", None, "IRC 2018 R312.1.1, 2024 R321.1.1"),
    ("guard above drop", "us-commercial", "30 in", None, "IBC 2018 1015.2, from memory, check"),
    ("guard within", "us-residential", "36 in", None, "IRC 2018 R312.1.1, 2024 R321.1.1"),
    ("guard within", "us-commercial", "36 in", None, "IBC 2018 1015.2, from memory, check"),
    ("base at least on a walk", "", "4 in", 100, TOLERANCES),
    ("base at least on a driveway", "", "6 in", 150, TOLERANCES),
    ("base at least on a street", "", "8 in", 200, TOLERANCES),
    ("bedding at least", "", "3/4 in", None, "trade bulletins, from memory, check"),
    ("bedding at most", "", "1 1/2 in", None, "trade bulletins, from memory, check"),
    ("dig past edge at least", "", "6 in", 150, TOLERANCES),
    ("way out of dig deeper than", "", "4 ft", None, "29 CFR 1926.651(c)(2)"),
    ("protect dig deeper than", "", "5 ft", None, "29 CFR 1926.652(a)"),
    ("straightedge", "", "10 ft", 3000, TOLERANCES),
    ("gap at most", "", "3/8 in", 10, TOLERANCES),
    ("lippage at most", "", "1/8 in", 3, TOLERANCES),
    ("above drain at least", "", "1/8 in", 3, "published project manual, section 02518 (2012)"),
    ("above drain at most", "", "1/4 in", 6, "published project manual, section 02518 (2012)"),
    ("out of square at most", "", "1:1200", None, "worked out from the bond line's tolerance"),
    ("bond wander at most", "", "1/2 in", 13, TOLERANCES),
    ("bond wander over", "", "50 ft", 16000, TOLERANCES),
    ("finish tolerance at most", "", "1 in", 25, "common practice, no source"),
    ("tolerance at most", "", "3 in", 75, "common practice, no source"),
    ("top layer at least", "", "1/4 in", 5, "common practice, no source"),
    ("top layer at most", "", "12 in", 300, "common practice, no source"),
    ("area at least", "", "3 ft", 900, "common practice, no source"),
    ("site at most", "", "5280 ft", 1600000, "common practice, no source"),
    ("from the benchmarks at most", "", "33 ft", 10000, "common practice, no source"),
    ("alone in height at most", "", "4 ft", 1200, "common practice, no source"),
    ("drop between points at most", "", "12 in", 300, "common practice, no source"),
    ("pitch at most", "", "25%", None, "common practice, no source"),
]
METRES = {"in": Fraction(127, 5000), "ft": Fraction(381, 1250), "mm": Fraction(1, 1000)}
"""By the definitions of 1959."""


def number(text: str) -> Fraction:
    """The ratio, metres or count that a row's number means."""
    if ":" in text:
        return Fraction(1, int(text.removeprefix("1:")))
    if text.endswith("%"):
        return Fraction(text.removesuffix("%")) / 100
    *figures, unit = text.split()
    if not figures:
        return Fraction(unit)
    return sum(map(Fraction, figures), Fraction(0)) * METRES[unit]


@each_of(("rule", "code", "us", "mm", "source"), CITED)
def test_a_limit_is_its_source_s_number_and_names_it(
    rule: str, code: str, us: str, mm: int | None, source: str
) -> None:
    figure = RULES[rule].by[code]
    assert (figure.value, figure.source) == (number(us), source)
    assert figure.metric == (None if mm is None else mm * METRES["mm"])
    alone = Limits(codes=[code] if code else [])
    assert (alone[rule].value, alone[rule].source) == (number(us), source)
    metric = Limits(metric=True, codes=[code] if code else [])
    assert (metric[rule].value, metric[rule].source) == (number(us) if mm is None else mm * METRES["mm"], source)


def test_every_limit_of_every_code_is_cited_here_once() -> None:
    assert sorted((rule, code) for rule, code, *_ in CITED) == sorted(
        (name, code) for name, rule in RULES.items() for code in rule.by
    )


@pytest.mark.parametrize(("rule", "us", "source"), [
    ("riser at most", "7 in", "IBC 2018 1011.5.2; ADA Standards 2010, 504.2"),
    ("tread at least", "11 in", "IBC 2018 1011.5.2; ADA Standards 2010, 504.2"),
    ("flight rise at most", "144 in", "IBC 2018 1011.8, as cited in a trade answer"),
    ("handrail from risers", "2", "IBC 2018 1011.11, from memory, check; ADA Standards 2010, 504.6"),
])  # fmt: skip
def test_of_several_codes_the_strictest_and_all_that_agree_are_named(rule: str, us: str, source: str) -> None:
    limit = Limits(codes=["us-residential", "us-commercial", "us-accessible"])[rule]
    assert (limit.value, limit.source) == (number(us), source)


def test_a_limit_of_the_plan_s_own_names_the_plan() -> None:
    limit = Limits(given={"gap at most": Fraction(1, 1000)})["gap at most"]
    assert (limit.value, limit.source) == (Fraction(1, 1000), "the plan")
