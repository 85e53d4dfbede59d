"""What stone weighs, costs and settles by, and how dug soil swells: usual numbers, that the plan may set."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _

POUND = Fraction(45_359_237, 100_000_000)
"""Kilograms in a pound, exact by definition (Federal Register 24 FR 5348, 1959)."""
TON = 2000 * POUND
"""Kilograms in a short ton."""
YARD_3 = Fraction(9144, 10_000) ** 3
"""Cubic metres in a cubic yard."""
FOOT_3 = YARD_3 / 27
"""Cubic metres in a cubic foot."""

SOURCES = {
    "density": _("suppliers' order figures, crusher run 1.4 to 1.5 ton/yd^3 loose (common practice, no source)"),
    "price": _("not known: the plan gives none"),
    "compaction": _("a contractor's published method: 5 in placed make 4 in compacted"),
    "waste": _("suppliers' pages: order 5 to 10% more (common practice, no source)"),
    "swell": _("an engineering site's swell factors: loam 25%"),
}
"""Where the usual numbers come from, by field."""
SAND_SOURCES = {
    "density": _("a gravel pit's page: sand or gravel 100 lb/ft^3 loose"),
    "price": SOURCES["price"],
    "compaction": _("ordered by the thickness it is screeded to, as a published order is worked"),
    "waste": _("a supplier's rule: 1 yd^3 covers 300 ft^2 at 1 in, where 324 ft^2 would be exact"),
    "swell": SOURCES["swell"],
}
"""The same for bedding sand."""


@dataclass(frozen=True, slots=True)
class Stone:
    """A material as it is ordered; all numbers exact, a ValueError where one can't be.

    `density` is kilograms in a cubic metre: as delivered where `loose`, else compacted. `price` is money for a
    kilogram, None where it is not known. `compaction` is loose volume over compacted volume. `waste` is what is
    ordered on top, `swell` what dug soil grows by, each as a share. `given` names the fields that the plan sets,
    and `usual` what the others are taken from.
    """

    density: Fraction = Fraction(3, 2) * TON / YARD_3
    loose: bool = True
    price: Fraction | None = None
    compaction: Fraction = Fraction(5, 4)
    waste: Fraction = Fraction(5, 100)
    swell: Fraction = Fraction(25, 100)
    given: tuple[str, ...] = ()
    usual: str = "stone"
    truck: Fraction | None = None
    """Cubic metres that a truck holds loose, None where the plan does not say."""

    def __post_init__(self) -> None:
        if self.density <= 0:
            raise ValueError("stone weighs something")
        if self.compaction < 1:
            raise ValueError("stone takes no more room compacted than loose")
        if min(self.waste, self.swell, self.price or 0) < 0:
            raise ValueError(_("waste, swell and price are not below nothing"))

    @property
    def in_place(self) -> Fraction:
        """Kilograms in a cubic metre compacted: the ratio is used on a loose density alone, so never twice."""
        return self.density * self.compaction if self.loose else self.density

    def source(self, field: str) -> str:
        """Where that number comes from."""
        if field in self.given:
            return _("the plan")
        return (SAND_SOURCES if self.usual == "sand" else SOURCES)[field]


SAND = Stone(
    density=100 * POUND / FOOT_3,
    compaction=Fraction(1),
    waste=Fraction(324, 300) - 1,
    usual="sand",
)
"""Bedding sand where the plan says nothing of it."""
