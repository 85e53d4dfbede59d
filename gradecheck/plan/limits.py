"""The limits work is held to: usual ones with their published source, each of which a plan may set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from gradecheck.measure.quantities import Length, Slope, feet, inches, millimetres

Kind = Literal["slope", "length", "count"]


@dataclass(frozen=True, slots=True)
class Rule:
    """A usual limit: `value` is a ratio, metres or a count; `metric` what the source prints for metric work."""

    kind: Kind
    value: Fraction
    source: str
    metric: Fraction | None = None


def _slope(ratio: str, source: str) -> Rule:
    rise, _, run = ratio.partition(":")
    return Rule("slope", Fraction(rise) / Fraction(run) if run else Fraction(rise.removesuffix(" %")) / 100, source)


def _length(imperial: Length, source: str, mm: int | None = None) -> Rule:
    return Rule("length", imperial.metres, source, millimetres(mm).metres if mm is not None else None)


def _inches(number: str, source: str, mm: int | None = None) -> Rule:
    return _length(inches(sum(map(Fraction, number.split()), Fraction(0))), source, mm)


_TOLERANCES = "paving institute, construction tolerances for interlocking concrete pavements"
_FROM_MEMORY = " (from memory, check)"

RULES: dict[str, Rule] = {
    # drainage
    "fall at least": _slope("1.5 %", "paving institute bulletin PAV-TEC-002"),
    "fall wanted": _slope("2 %", _TOLERANCES),
    "near building": _length(feet(10), "IRC R401.3", 3048),
    "fall near building at least": _slope("2 %", "IRC R401.3, exception for impervious surfaces"),
    "pool deck fall at least": _slope("1:48", "COMAR 10.17.01.22 A(3)"),
    "pool deck fall at most": _slope("1:24", "COMAR 10.17.01.22 A(3)"),
    "puddle at most": Rule("length", Fraction(2, 1000), "common practice, no source"),
    # accessible routes and ramps
    "accessible cross fall at most": _slope("1:48", "ADA Standards 2010, 403.3"),
    "accessible run at most": _slope("1:20", "ADA Standards 2010, 403.3"),
    "ramp at most": _slope("1:12", "ADA Standards 2010, 405.2"),
    "ramp rise at most": _inches("30", "ADA Standards 2010, 405.6", 760),
    "ramp landing fall at most": _slope("1:48", "ADA Standards 2010, 405.7"),
    "ramp landing at least": _inches("60", "ADA Standards 2010, 405.7", 1525),
    "level change at most": _inches("1/4", "ADA Standards 2010, 303.2"),
    # steps
    "riser at most": _inches("7 3/4", "IRC R311.7.5.1", 196),
    "riser at least": _inches("4", "IBC 1011.5.2", 102),
    "riser varies at most": _inches("3/8", "IRC R311.7.5.1"),
    "neighbour risers differ at most": _inches("3/16", "BOCA 1981, as cited in a trade answer"),
    "tread at least": _inches("10", "IRC R311.7.5.2", 254),
    "tread varies at most": _inches("3/8", "IRC R311.7.5.2"),
    "tread fall at most": _slope("1:48", "IRC R311.7.7"),
    "landing fall at most": _slope("1:48", "IRC R311.7.7"),
    "landing at least": _inches("36", "IRC R311.7.6"),
    "flight rise at most": _inches("151", "IRC R318.7.3 (2024)"),
    "handrail from risers": Rule("count", Fraction(4), "IRC R311.7.8"),
    "guard above drop": _inches("30", "IRC R312"),
    # build-up and dig
    "base at least on a walk": _inches("4", _TOLERANCES, 100),
    "base at least on a driveway": _inches("6", _TOLERANCES, 150),
    "base at least on a street": _inches("8", _TOLERANCES, 200),
    "bedding at least": _inches("3/4", "trade bulletins" + _FROM_MEMORY),
    "bedding at most": _inches("1 1/2", "trade bulletins" + _FROM_MEMORY),
    "dig past edge at least": _inches("6", _TOLERANCES, 150),
    "way out of dig deeper than": _length(feet(4), "29 CFR 1926.651(c)(2)"),
    "protect dig deeper than": _length(feet(5), "29 CFR 1926.652(a)"),
    # flatness and edges
    "straightedge": _length(feet(10), _TOLERANCES, 3000),
    "gap at most": _inches("3/8", _TOLERANCES, 10),
    "lippage at most": _inches("1/8", _TOLERANCES, 3),
    "above drain at least": _inches("1/8", "published project manual, section 02518 (2012)", 3),
    "above drain at most": _inches("1/4", "published project manual, section 02518 (2012)", 6),
    # layout
    "out of square at most": _slope("1:1200", "worked out to match the bond line's wander"),
    "bond wander at most": _inches("1/2", _TOLERANCES, 13),
    "bond wander over": _length(feet(50), _TOLERANCES, 16_000),
}
"""Each by the words a plan may set it with."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit as it holds here, and who says so."""

    name: str
    kind: Kind
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
    """The limits of a job, or of an area with rules of its own; one that is not in `RULES` is a KeyError."""

    metric: bool = False
    given: dict[str, Fraction] = field(default_factory=dict)
    lent: dict[str, str] = field(default_factory=dict)
    """Limits in whose place another holds, with its own number and source."""

    def __getitem__(self, name: str) -> Limit:
        name = self.lent.get(name, name)
        rule = RULES[name]
        if name in self.given:
            return Limit(name, rule.kind, self.given[name], "the plan")
        metric = rule.metric if self.metric else None
        return Limit(name, rule.kind, rule.value if metric is None else metric, rule.source)

    def with_rules(self, given: Mapping[str, Fraction]) -> Limits:
        """The same with rules of an area put over them."""
        return Limits(self.metric, {**self.given, **given}, self.lent) if given else self

    def lending(self, name: str, *places: str) -> Limits:
        """The same with that limit in the place of others."""
        return Limits(self.metric, self.given, {**self.lent, **dict.fromkeys(places, name)})
