"""The best plane through spots: how it falls, against its limits, and how far each spot lies off it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.checks.held import Verdict
from gradecheck.checks.slope import SLACK, enough
from gradecheck.checks.ways import Way
from gradecheck.ground.planes import Plane, best_plane, gradient_weights
from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import ZERO, Length, Slope
from gradecheck.plan.limits import Limit, Limits


@dataclass(frozen=True, slots=True)
class Residual:
    """How far a spot lies above the best plane; negative is below."""

    name: str
    above: Length


@dataclass(frozen=True, slots=True)
class JudgedPlane:
    """The best plane through spots, and its true fall against the limit that decides it.

    `fall` is the true fall, exact where it is rational; `plane.direction` tells where it runs. `along` is the part
    of it that falls the way water is to run, None where no way was asked or the middle of the spots lies on the
    wall. What a plane says of the whole says nothing of a puddle: see the low spots.
    """

    plane: Plane
    fall: Slope
    along: Slope | None
    residuals: tuple[Residual, ...]
    limit: Limit
    verdict: Verdict

    @property
    def backward(self) -> bool:
        """Whether the whole runs against the way water is to run."""
        return self.along is not None and self.along.ratio < -SLACK

    @property
    def worst(self) -> Residual:
        """The spot farthest from the plane, the first of equals."""
        return max(self.residuals, key=lambda residual: abs(residual.above))


def judge_plane(
    spots: Sequence[Spot], limits: Limits, way: Way | None = None, doubt: Length = ZERO
) -> JudgedPlane | None:
    """The best plane's true fall against "fall at least" and "fall wanted"; None where spots determine no plane.

    A plane that falls against the way water is to run is a fault however steep it is. What the fall may be off where
    each height may be off by `doubt` is left open.
    """
    plane = best_plane(spots)
    if plane is None:
        return None
    fall_x, fall_y = (fall.ratio for fall in plane.falls)
    true_fall = root(fall_x**2 + fall_y**2)
    along = None
    if way is not None and (headings := way.headings(plane.at)):
        # In a hollow corner, the wall that is served worse.
        along = min(Slope((fall_x * x + fall_y * y) / root(x * x + y * y)) for x, y in headings)
    left_open = _left_open(spots, (fall_x, fall_y), true_fall) * doubt.metres if doubt else Fraction(0)
    limit, verdict = enough(true_fall, [limits["fall at least"]], limits["fall wanted"], left_open)
    if along is not None and along.ratio < -SLACK:
        limit, verdict = limits["fall at least"], "fault" if along.ratio + left_open < -SLACK else "can't tell"
    residuals = tuple(Residual(spot.name, spot.z.above(plane.elevation(spot.at))) for spot in spots)
    return JudgedPlane(plane, Slope(true_fall), along, residuals, limit, verdict)


def _left_open(spots: Sequence[Spot], falls: tuple[Fraction, Fraction], true_fall: Fraction) -> Fraction:
    """What the fall may be off for each metre that every height may be off, to a hundred-thousandth."""
    weights = gradient_weights([spot.at for spot in spots]) or []
    x, y = (falls[0] / true_fall, falls[1] / true_fall) if true_fall else (Fraction(1), Fraction(1))
    return Fraction(sum(abs(float(u) * float(x) + float(v) * float(y)) for u, v in weights)).limit_denominator(10**5)
