"""A level network tied by more sights than needed, adjusted by least squares: elevations, residuals, and a test.

Differences are reduced exactly before the fit, so that it works with small numbers only; numpy is loaded when used.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import erfc, exp, lgamma, log, sqrt

from gradecheck.catalogue import _, plural
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.survey.circuit import Leg, SharedBy

RISK = 0.05
"""How often the test fails sound work."""
_FINENESS = 10**9
"""Adjusted elevations are kept to the nanometre."""
_UNCHECKED = 1e-7
"""A redundancy below this is rounding: nothing else checks that sight."""
_ALIKE = 1e-8
"""Residuals correlated to within this are of sights that the network can't tell apart."""


@dataclass(frozen=True, slots=True)
class AdjustedMark:
    """A mark whose elevation was adjusted; `deviation` is its standard deviation in metres, where one can be told."""

    mark: str
    elevation: Elevation
    deviation: float | None


@dataclass(frozen=True, slots=True)
class AdjustedLeg:
    """A sight after the adjustment.

    `residual` is adjusted less observed, `deviation` the standard deviation of the adjusted difference in metres.
    `redundancy` runs from 0, nothing else checks it, to 1; `standardised` is the residual in its own standard
    deviations, None where nothing checks it or the scatter is not known.
    """

    leg: Leg
    rise: Length
    residual: Length
    deviation: float | None
    redundancy: float
    standardised: float | None


@dataclass(frozen=True, slots=True)
class GlobalTest:
    """The chi-square test of the whole network; it fails where the sights scatter more than expected."""

    statistic: float
    limit: float

    @property
    def passes(self) -> bool:
        """Whether the statistic is within the limit."""
        return self.statistic <= self.limit


@dataclass(frozen=True, slots=True)
class Adjustment:
    """A network adjusted.

    `dof` counts the sights more than needed; `sigma0` is the scatter found, in metres, for one setup or for the root
    of one kilometre; `worst` are the sights with the largest standardised residual, more than one where the network
    can't tell them apart.
    """

    marks: tuple[AdjustedMark, ...]
    legs: tuple[AdjustedLeg, ...]
    dof: int
    sigma0: float | None
    test: GlobalTest | None
    worst: tuple[AdjustedLeg, ...]

    @property
    def says(self) -> str:
        """What the adjustment found, in a sentence."""
        if not self.dof:
            return _("There are no more sights than needed, so nothing checks them and no test is possible.")
        if self.test is None:
            return _("How much the sights should scatter is not known, so no test is possible.")
        if self.test.passes:
            return _("The sights agree as well as can be expected of them.")
        names = [each.leg.name for each in self.worst]
        if len(names) == 1:
            return _(
                "The sights disagree more than can be expected of them; most at fault is {names}: shoot it again.",
                names=names[0],
            )
        return _(
            "The sights disagree more than can be expected of them; the fault lies in one of {names}, which "
            "this network can't tell apart: tie them once more.",
            names=", ".join(names),
        )


def adjust(
    known: Mapping[str, Elevation],
    legs: Sequence[Leg],
    by: SharedBy = SharedBy.SETUPS,
    expected: Length | None = None,
) -> Adjustment:
    """The network's least squares adjustment; `known` marks stay as they are, weights go down with a leg's size.

    `expected` is the standard deviation that one setup (by distance: the root of one kilometre) should have. With it
    the network is tested, and standard deviations follow from it unless the test fails; then, and without it, they
    follow from the scatter found. Raises ValueError, in one sentence, for a network that can't be adjusted.
    """
    if expected is not None and expected <= ZERO:
        raise ValueError(_("The expected standard deviation must be more than zero."))
    near = _carried(known, legs)
    unknown = {mark: column for column, mark in enumerate(mark for mark in near if mark not in known)}
    roots = [sqrt(leg.size(by)) for leg in legs]
    fit = _solve(
        [(unknown.get(leg.start), unknown.get(leg.end)) for leg in legs],
        [float((leg.rise - near[leg.end].above(near[leg.start])).metres) for leg in legs],
        roots,
        len(unknown),
    )
    dof = len(legs) - len(unknown)
    squares = sum(each * each for each in fit.scaled)
    found = sqrt(squares / dof) if dof else None
    assumed = None if expected is None else float(expected.metres)
    test = GlobalTest(squares / assumed**2, chi_square_limit(RISK, dof)) if assumed and dof else None
    scatter = found if assumed is None or (test and not test.passes) else assumed

    at = near | {mark: near[mark] + _rounded(fit.shifts[column]) for mark, column in unknown.items()}
    adjusted = []
    for leg, root, scaled, own in zip(legs, roots, fit.scaled, fit.own, strict=True):
        rise = at[leg.end].above(at[leg.start])
        deviation = None if scatter is None else scatter * root * sqrt(own)
        redundancy = 1 - own if 1 - own > _UNCHECKED else 0.0
        standardised = _standardised(scaled, assumed or found, redundancy) if redundancy else None
        adjusted.append(AdjustedLeg(leg, rise, rise - leg.rise, deviation, redundancy, standardised))
    return Adjustment(
        tuple(
            AdjustedMark(mark, at[mark], None if scatter is None else scatter * fit.cofactors[column])
            for mark, column in unknown.items()
        ),
        tuple(adjusted),
        dof,
        found,
        test,
        _worst(adjusted, fit),
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """A least squares fit, in metres.

    `shifts` of the unknowns and the roots of their cofactors; for each sight its residual in units of its own size
    (`scaled`), what it says about itself (`own`, 1 where nothing checks it) and the row of Q behind that.
    """

    shifts: list[float]
    cofactors: list[float]
    scaled: list[float]
    own: list[float]
    rows: list[list[float]]


def _solve(
    ends: Sequence[tuple[int | None, int | None]], off: Sequence[float], roots: Sequence[float], unknowns: int
) -> _Fit:
    """Fits the unknowns to what each sight is `off` by; `ends` names the unknowns it runs between."""
    import numpy as np

    design = np.zeros((len(ends), unknowns))
    for row, (start, end) in enumerate(ends):
        if start is not None:
            design[row, start] = -1 / roots[row]
        if end is not None:
            design[row, end] = 1 / roots[row]
    wanted = np.array(off) / np.array(roots)
    # With A = QR the cofactors of the unknowns are those of R⁻¹R⁻ᵀ, and QQᵀ is what the sights say about themselves.
    q, r = np.linalg.qr(design)
    inverse = np.linalg.inv(r)
    shifts = inverse @ (q.T @ wanted)
    return _Fit(
        shifts.tolist(),
        np.sqrt((inverse**2).sum(axis=1)).tolist(),
        (design @ shifts - wanted).tolist(),
        np.minimum(1.0, (q**2).sum(axis=1)).tolist(),
        q.tolist(),
    )


def _rounded(shift: float) -> Length:
    return Length(Fraction(round(shift * _FINENESS), _FINENESS))


def _standardised(scaled: float, scatter: float | None, redundancy: float) -> float:
    # Sights that agree to the last digit have no scatter to be measured by, and nothing to be measured.
    return scaled / (scatter * sqrt(redundancy)) if scatter else 0.0


def _worst(legs: Sequence[AdjustedLeg], fit: _Fit) -> tuple[AdjustedLeg, ...]:
    """The sight with the largest standardised residual, with those whose residuals always go along with its own."""
    sizes = [abs(leg.standardised or 0.0) for leg in legs]
    most = max(range(len(legs)), key=sizes.__getitem__)
    if not sizes[most]:
        return ()
    return tuple(leg for row, leg in enumerate(legs) if row == most or _alike(legs, fit, row, most))


def _alike(legs: Sequence[AdjustedLeg], fit: _Fit, one: int, other: int) -> bool:
    """Whether the residuals of the two sights are fully correlated, as between two marks that nothing else ties."""
    shared = sum(mine * its for mine, its in zip(fit.rows[one], fit.rows[other], strict=True))
    return abs(shared) > (1 - _ALIKE) * sqrt(legs[one].redundancy * legs[other].redundancy) > 0


def _carried(known: Mapping[str, Elevation], legs: Sequence[Leg]) -> dict[str, Elevation]:
    """An elevation for every mark, carried exactly along some of the legs from those that are known."""
    marks = dict.fromkeys(mark for leg in legs for mark in (leg.start, leg.end))
    if not marks:
        raise ValueError(_("There is no sight to adjust."))
    found = {mark: known[mark] for mark in marks if mark in known}
    if not found:
        raise ValueError(_("No mark of this network has a known elevation; give one, or tie it to a benchmark."))
    ways: dict[str, list[tuple[str, Length]]] = {mark: [] for mark in marks}
    for leg in legs:
        ways[leg.start].append((leg.end, leg.rise))
        ways[leg.end].append((leg.start, -leg.rise))
    waiting = deque(found)
    while waiting:
        here = waiting.popleft()
        for mark, rise in ways[here]:
            if mark not in found:
                found[mark] = found[here] + rise
                waiting.append(mark)
    loose = [mark for mark in marks if mark not in found]
    if loose:
        raise ValueError(
            plural(
                len(loose),
                "{loose} is not tied to any mark of known elevation; add a sight.",
                "{loose} are not tied to any mark of known elevation; add a sight.",
                loose=", ".join(loose),
            )
        )
    return {mark: found[mark] for mark in marks}


def chi_square_above(value: float, dof: int) -> float:
    """The chance that chi-square with that many degrees of freedom exceeds the value.

    For whole degrees of freedom it is a finite sum: Abramowitz and Stegun, 26.4.4 and 26.4.5 (from memory).
    """
    if value <= 0:
        return 1.0
    half = value / 2
    first, chance = (0.0, 0.0) if dof % 2 == 0 else (0.5, erfc(sqrt(half)))
    for step in range(dof // 2):
        power = first + step
        chance += exp(power * log(half) - half - lgamma(power + 1))
    return chance


def chi_square_limit(risk: float, dof: int) -> float:
    """The value that chi-square with that many degrees of freedom exceeds with that chance."""
    low, high = 0.0, float(dof)
    while chi_square_above(high, dof) > risk:
        low, high = high, 2 * high
    while low < (middle := (low + high) / 2) < high:
        if chi_square_above(middle, dof) > risk:
            low = middle
        else:
            high = middle
    return high
