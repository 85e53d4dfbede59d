"""The limits work is held to: those that hold anywhere, and those of the codes a plan names; a plan may set each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from gradecheck.catalogue import stored
from gradecheck.measure.quantities import Length, Slope, feet, inches, millimetres

LimitKind = Literal["slope", "length", "count"]

CODES: dict[str, str] = {
    "us-residential": "International Residential Code 2018, one- and two-family houses",
    "us-commercial": "International Building Code 2018, other buildings",
    "us-accessible": "ADA Standards for Accessible Design 2010",
    "us-maryland-pools": "Maryland, public and semipublic pools (COMAR 10.17.01)",
}
"""The rule sets a plan may name under `codes:`, each with what it is. Which of them holds on a site, only the local
code and the drawings can say, so none holds where none is named."""
ANYWHERE = ""
"""In the place of a code: paving standards, site safety and common practice, which every job is held to."""
IN_FORCE_ANYWHERE = "any job"
"""How `ANYWHERE` is called where rules are listed."""


@dataclass(frozen=True, slots=True)
class SourcedLimit:
    """A limit as one source sets it: a ratio, metres or a count; `metric` what it prints for metric work."""

    value: Fraction
    source: str
    metric: Fraction | None = None

    def here(self, metric: bool) -> Fraction:
        """The value for a job that counts in metric units, or in inches and feet."""
        return self.metric if metric and self.metric is not None else self.value


@dataclass(frozen=True, slots=True)
class Rule:
    """A limit with every source that sets it, by code; of two the strictest holds: with `least` the larger."""

    kind: LimitKind
    least: bool
    by: dict[str, SourcedLimit]


_Sourced = tuple[str, LimitKind, SourcedLimit]
"""A figure, with the code whose it is and what kind it is of."""


def _read(text: str) -> tuple[LimitKind, Fraction]:
    """A figure as the table writes it: ``1.5%``, ``1:48``, ``7 3/4 in``, ``10 ft``, ``2 mm``, ``4``."""
    *numbers, unit = text.split()
    if ":" in unit:
        rise, _, run = unit.partition(":")
        return "slope", Fraction(rise) / Fraction(run)
    if unit.endswith("%"):
        return "slope", Fraction(unit.removesuffix("%")) / 100
    if not numbers:
        return "count", Fraction(unit)
    number = sum(map(Fraction, numbers), Fraction(0))
    return "length", {"in": inches, "ft": feet, "mm": millimetres}[unit](number).metres


def _set(code: str, text: str, source: str, mm: int | None = None) -> _Sourced:
    kind, value = _read(text)
    return code, kind, SourcedLimit(value, source, millimetres(mm).metres if mm is not None else None)


def _anywhere(text: str, source: str, mm: int | None = None) -> _Sourced:
    return _set(ANYWHERE, text, source, mm)


def _house(text: str, section: str, mm: int | None = None, *, edition: str = "2018") -> _Sourced:
    return _set("us-residential", text, f"IRC {edition} {section}", mm)


def _building(text: str, section: str, mm: int | None = None, *, edition: str = "2018") -> _Sourced:
    return _set("us-commercial", text, f"IBC {edition} {section}", mm)


def _access(text: str, section: str, mm: int | None = None) -> _Sourced:
    return _set("us-accessible", text, f"ADA Standards 2010, {section}", mm)


def _maryland(text: str, section: str) -> _Sourced:
    return _set("us-maryland-pools", text, f"COMAR 10.17.01.22 {section}")


def _least(*figures: _Sourced) -> Rule:
    return Rule(figures[0][1], True, {code: figure for code, _, figure in figures})


def _most(*figures: _Sourced) -> Rule:
    return Rule(figures[0][1], False, {code: figure for code, _, figure in figures})


_TOLERANCES = "paving institute, interlocking concrete pavement tolerances (about 2020)"
_DRAIN = "published project manual, section 02518 (2012)"
_OLDER_CODE = "BOCA 1981, as cited in a trade answer"
_MEMORY = ", from memory, check"

_ASKED = stored("common practice, no source")

RULES: dict[str, Rule] = {
    # drainage
    "fall at least": _least(_anywhere("1.5%", "paving institute bulletin PAV-TEC-002-22")),
    "fall wanted": _least(_anywhere("2%", _TOLERANCES)),
    "near building": _least(
        _house("10 ft", "R401.3", 3048),
        # The text was read in the edition of 2012; where it stands in later ones is from memory.
        _building("10 ft", "1804.3, 2018 1804.4 from memory", 3048, edition="2012"),
    ),
    "fall near building at least": _least(
        _house("2%", "R401.3, exception for impervious surfaces"),
        _building("2%", "1804.3, 2018 1804.4 from memory", edition="2012"),
    ),
    "pool deck fall at least": _least(_maryland("1:48", "A(3)")),
    "pool deck fall at most": _most(_maryland("1:24", "A(3)")),
    "ponding at most": _most(_anywhere("2 mm", "common practice, no source")),
    # accessible routes and ramps
    "accessible cross fall at most": _most(_access("1:48", "403.3")),
    "accessible run at most": _most(_access("1:20", "403.3")),
    "ramp at most": _most(_access("1:12", "405.2")),
    "ramp rise at most": _most(_access("30 in", "405.6", 760)),
    "ramp landing fall at most": _most(_access("1:48", "405.7")),
    "ramp landing at least": _least(_access("60 in", "405.7", 1525)),
    "ramp width at least": _least(_access("36 in", "405.5" + _MEMORY)),
    "level change at most": _most(_access("1/4 in", "303.2")),
    # steps
    "riser at most": _most(
        _house("7 3/4 in", "R311.7.5.1, 2024 R318.7.5.1", 196),
        _building("7 in", "1011.5.2", 178),
        _access("7 in", "504.2", 180),
    ),
    "riser at least": _least(_building("4 in", "1011.5.2", 102), _access("4 in", "504.2", 100)),
    "riser varies at most": _most(_house("3/8 in", "R311.7.5.1, 2024 R318.7.5.1"), _building("3/8 in", "1011.5.4")),
    "neighbor risers differ at most": _most(
        _set("us-residential", "3/16 in", _OLDER_CODE), _set("us-commercial", "3/16 in", _OLDER_CODE)
    ),
    "tread at least": _least(
        _house("10 in", "R311.7.5.2, 2024 R318.7.5.2", 254),
        _building("11 in", "1011.5.2", 279),
        _access("11 in", "504.2", 280),
    ),
    "tread varies at most": _most(_house("3/8 in", "R311.7.5.2, 2024 R318.7.5.2"), _building("3/8 in", "1011.5.4")),
    "tread fall at most": _most(
        _house("1:48", "R311.7.7, 2024 R318.7.7"), _building("1:48", "1011.7.1" + _MEMORY), _access("1:48", "504.4")
    ),
    "landing fall at most": _most(_house("1:48", "R311.7.7, 2024 R318.7.7"), _building("1:48", "1011.7.1" + _MEMORY)),
    "landing at least": _least(_house("36 in", "R311.7.6, 2024 R318.7.6")),
    "steps width at least": _least(_house("36 in", "R311.7.1")),
    "flight rise at most": _most(
        _house("151 in", "R318.7.3", edition="2024"), _building("12 ft", "1011.8, as cited in a trade answer")
    ),
    "handrail from risers": _most(
        _house("4", "R311.7.8, 2024 R318.7.8"), _building("2", "1011.11" + _MEMORY), _access("2", "504.6")
    ),
    "guard above drop": _most(_house("30 in", "R312.1.1, 2024 R321.1.1"), _building("30 in", "1015.2" + _MEMORY)),
    "guard within": _least(_house("36 in", "R312.1.1, 2024 R321.1.1"), _building("36 in", "1015.2" + _MEMORY)),
    # build-up and dig
    "base at least on a walk": _least(_anywhere("4 in", _TOLERANCES, 100)),
    "base at least on a driveway": _least(_anywhere("6 in", _TOLERANCES, 150)),
    "base at least on a street": _least(_anywhere("8 in", _TOLERANCES, 200)),
    "bedding at least": _least(_anywhere("3/4 in", "trade bulletins" + _MEMORY)),
    "bedding at most": _most(_anywhere("1 1/2 in", "trade bulletins" + _MEMORY)),
    "dig past edge at least": _least(_anywhere("6 in", _TOLERANCES, 150)),
    "way out of dig deeper than": _most(_anywhere("4 ft", "29 CFR 1926.651(c)(2)")),
    "protect dig deeper than": _most(_anywhere("5 ft", "29 CFR 1926.652(a)")),
    # flatness and edges
    "straightedge": _least(_anywhere("10 ft", _TOLERANCES, 3000)),
    "gap at most": _most(_anywhere("3/8 in", _TOLERANCES, 10)),
    "lippage at most": _most(_anywhere("1/8 in", _TOLERANCES, 3)),
    "above drain at least": _least(_anywhere("1/8 in", _DRAIN, 3)),
    "above drain at most": _most(_anywhere("1/4 in", _DRAIN, 6)),
    # layout
    "out of square at most": _most(_anywhere("1:1200", stored("worked out from the bond line's tolerance"))),
    "bond wander at most": _most(_anywhere("1/2 in", _TOLERANCES, 13)),
    "bond wander over": _least(_anywhere("50 ft", _TOLERANCES, 16_000)),
    # what no plan means: beyond these a figure is asked about
    "finish tolerance at most": _most(_anywhere("1 in", _ASKED, 25)),
    "tolerance at most": _most(_anywhere("3 in", _ASKED, 75)),
    "top layer at least": _least(_anywhere("1/4 in", _ASKED, 5)),
    "top layer at most": _most(_anywhere("12 in", _ASKED, 300)),
    "area at least": _least(_anywhere("3 ft", _ASKED, 900)),
    "site at most": _most(_anywhere("5280 ft", _ASKED, 1_600_000)),
    "from the benchmarks at most": _most(_anywhere("33 ft", _ASKED, 10_000)),
    "alone in height at most": _most(_anywhere("4 ft", _ASKED, 1200)),
    "drop between points at most": _most(_anywhere("12 in", _ASKED, 300)),
    "pitch at most": _most(_anywhere("25%", _ASKED)),
}
"""Each by the words a plan may set it with."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as it holds here, and who says so."""

    name: str
    kind: LimitKind
    value: Fraction
    source: str

    @property
    def slope(self) -> Slope:
        """The limit as a slope."""
        return Slope(self.value)

    @property
    def length(self) -> Length:
        """The limit as a length."""
        return Length(self.value)

    @property
    def count(self) -> int:
        """The limit as a whole number."""
        return int(self.value)


@dataclass(frozen=True)
class Limits:
    """The limits of a job, or of an area with rules or codes of its own.

    What only codes limit has no limit where none of them is named: `get` gives None then, and looking it up is a
    KeyError.
    """

    metric: bool = False
    given: dict[str, Fraction] = field(default_factory=dict)
    lent: dict[str, str] = field(default_factory=dict)
    """Limits in place of which another one is used, with its value and source."""
    codes: Sequence[str] = ()

    def __getitem__(self, name: str) -> Limit:
        limit = self.get(name)
        if limit is None:
            raise KeyError(name)
        return limit

    def get(self, name: str) -> Limit | None:
        """The limit that holds: the plan's own, else the strictest of what holds anywhere and the codes named."""
        name = self.lent.get(name, name)
        rule = RULES[name]
        if name in self.given:
            return Limit(name, rule.kind, self.given[name], "the plan")
        figures = [rule.by[code] for code in (ANYWHERE, *self.codes) if code in rule.by]
        if not figures:
            return None
        values = [figure.here(self.metric) for figure in figures]
        strictest = max(values) if rule.least else min(values)
        sources = (figure.source for figure, value in zip(figures, values, strict=True) if value == strictest)
        return Limit(name, rule.kind, strictest, "; ".join(dict.fromkeys(sources)))

    def with_rules(self, given: Mapping[str, Fraction]) -> Limits:
        """These limits with an area's own rules in place of them, each in its kind's unit: ratio, metres or count."""
        return Limits(self.metric, {**self.given, **given}, self.lent, self.codes) if given else self

    def lending(self, name: str, *places: str) -> Limits:
        """These limits with that one used in place of others; unchanged where it has no value."""
        if self.get(name) is None:
            return self
        return Limits(self.metric, self.given, {**self.lent, **dict.fromkeys(places, name)}, self.codes)
