"""The closed list of units a job file may use for slopes and compound quantities, owned by pint.

Pint is imported when the first such quantity is read, and never sees the text a person wrote: the number and
the names of the units are split here, and only names of this list are handed on.
"""

from __future__ import annotations

import contextlib
import math
import re
import sys
from collections.abc import Iterator
from contextvars import ContextVar
from fractions import Fraction
from typing import TYPE_CHECKING

from gradecheck.catalogue import _
from gradecheck.measure.quantities import Slope
from gradecheck.measure.typed import LONGEST

if TYPE_CHECKING:
    import pint

# Exact by definition: yard and pound, Federal Register 24 FR 5348 (1959); ton is the short ton of 2000 lb.
_DEFINITIONS = """
metre = [length] = m
millimetre = metre / 1000 = mm
centimetre = metre / 100 = cm
inch = 254 / 10000 * metre = in
foot = 12 * inch = ft
yard = 3 * foot = yd
kilogram = [mass] = kg
tonne = 1000 * kilogram = t
pound = 45359237 / 100000000 * kilogram = lb
ton = 2000 * pound
dollar = [currency]
"""

NAMES = {
    "in": "inch", "ft": "foot", "yd": "yard", "mm": "millimetre", "cm": "centimetre", "m": "metre",
    "kg": "kilogram", "t": "tonne", "lb": "pound", "ton": "ton", "$": "dollar",
}  # fmt: skip
"""What a job file may write for each unit, and the name it goes by here."""

_OTHER_NAMES = (
    dict.fromkeys(("cy", "cu yd", "cubic yard", "cubic yards"), "yd^3")
    | dict.fromkeys(("cf", "cu ft", "cubic foot", "cubic feet"), "ft^3")
    | dict.fromkeys(("cum", "cu m", "cubic meter", "cubic metre"), "m^3")
    | {"lbs": "lb", "pounds": "lb", "tons": "ton", "tonne": "t", "tonnes": "t", "kgs": "kg"}
)
"""What people write for a unit, and what a job file writes."""
_POWERS = {"": 1, "^2": 2, "^3": 3, "2": 2, "3": 3, "²": 2, "³": 3}
_DECIMAL = re.compile(r"([+-]?)([0-9]{1,7}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})")
_MIXED = re.compile(r"([+-]?)(?:([0-9]{1,6})[ -])?([0-9]{1,4})/([0-9]{1,4})")
_RATIO = re.compile(r"([+-]?[0-9]{1,5}(?:\.[0-9]{1,4})?) ?: ?([0-9]{1,5}(?:\.[0-9]{1,4})?)")
_LENGTH = "(?:in|ft|yd|mm|cm|m)"
_SPELT = (
    (re.compile(r"[\"″”]|’’|''|\b(?:inches|inch)\b|\bin\."), " in"),
    (re.compile(r"['′’]|\b(?:feet|foot)\b|\bft\."), " ft"),
    (re.compile(rf" per ({_LENGTH})$"), r"/\1"),  # for one of them, as “1/4 in per ft”
)
"""Other ways to write a unit in a slope, and ours."""
_FRACTION = re.compile(r"(-?)([0-9]{1,5})/([0-9]{1,5})")
_ON_THE_TAPE = {2, 4, 8, 16, 32, 64}
"""Below the line of a fraction of an inch: “1/4” alone may be a quarter inch a foot, or one in four."""
_BARE_RISE = re.compile(r"([-0-9./ ]*[0-9]) ?/ ?(ft|m)")
_COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
_ONE_IN = re.compile(r"([0-9]{1,5}) in ([0-9]{1,5}(?:\.[0-9]{1,4})?)")
_PER_CENT = re.compile(r"([0-9./ -]+?) ?(?:pct|per ?-?cent|pc)\.?")
_RISE_OVER_RUN = re.compile(rf"[^a-z]+{_LENGTH} ?/ ?{_LENGTH}")
_QUANTITY = re.compile(r"(?P<number>[+-]?[0-9. /-]{1,15}?) ?(?P<units>[^0-9. /-].*)")
_UNIT = re.compile(r"([a-z$]+)(\^?[23]|²|³)?")


class UnitProblemError(ValueError):
    """The text is no quantity of the kind asked for; the message is one sentence."""


_hidden: ContextVar[tuple[str, ...]] = ContextVar("_hidden", default=())
"""Packages that are not to be found; every thread has its own, so that others find them all the same."""


class _Hiding:
    """A finder of modules that finds none, and says of the hidden ones that there are none such."""

    def find_spec(self, name: str, path: object, target: object = None) -> None:
        """Leaves the search to the next finder, but for what is hidden here."""
        if name in _hidden.get():
            raise ModuleNotFoundError(_("{name} is not used here", name=name), name=name)


@contextlib.contextmanager
def _unseen(*packages: str) -> Iterator[None]:
    """Imports within find those packages missing, unless they are loaded already; those of other threads do not.

    Pint takes up whatever numerics it finds, which doubles the time it takes to import; none of it is used here.
    """
    hiding, before = _Hiding(), _hidden.set(packages)
    # New lists, for another thread may be going through the old one, and would miss a finder.
    sys.meta_path = [hiding, *sys.meta_path]
    try:
        yield
    finally:
        sys.meta_path = [finder for finder in sys.meta_path if finder is not hiding]
        _hidden.reset(before)


_made: dict[str, pint.UnitRegistry[Fraction]] = {}


def registry() -> pint.UnitRegistry[Fraction]:
    """Our own registry: empty but for the list above, exact, and ignorant of every other unit."""
    # Of two that threads make at once the first is kept by both: units of two registries do not mix.
    return _made["ours"] if _made else _made.setdefault("ours", _new_registry())


def _new_registry() -> pint.UnitRegistry[Fraction]:
    with _unseen("numpy", "uncertainties"):
        import pint

    units: pint.UnitRegistry[Fraction] = pint.UnitRegistry(None, non_int_type=Fraction)
    for line in _DEFINITIONS.strip().splitlines():
        units.define(line)
    return units


def read_quantity(text: str, wanted: str) -> Fraction:
    """The exact number of `wanted` units (such as ``t/m^3``) that `text` (such as ``1.5 ton/yd^3``) is.

    Raises `UnitProblemError` when the text is not understood or is a quantity of another kind.
    """
    plain = " ".join(text.split())
    found = _QUANTITY.fullmatch(plain) if len(plain) <= LONGEST else None
    if found is None:
        raise UnitProblemError(
            _("“{text}” is not a number with a unit; write it like 1.5 {wanted}.", text=text[:LONGEST], wanted=wanted)
        )
    number = _number(found["number"])
    if number is None:
        raise UnitProblemError(
            _(
                "“{found}” in “{plain}” is not a number; write it like 1.5 {wanted}.",
                found=found["number"],
                plain=plain,
                wanted=wanted,
            )
        )
    try:
        return Fraction(registry().convert(number, _compound(found["units"]), _compound(wanted)))
    except _dimensionality_error() as wrong:
        raise UnitProblemError(
            _("“{plain}” is not a quantity in {wanted}; check its units.", plain=plain, wanted=wanted)
        ) from wrong


def read_slope(text: str, like: str = "3/16 in/ft, 2% or 1:48") -> Slope:
    """A slope such as ``3/16 in/ft``, ``1/4 per ft``, ``2%``, ``15 ‰``, ``1:48``, ``1 in per 5 ft``, ``1.5 deg``.

    Raises `UnitProblemError` with one sentence that has the spelling that works, or what slopes are written `like`.
    """
    shown = " ".join(text.replace("\N{MINUS SIGN}", "-").split())
    if len(shown) > LONGEST:
        raise UnitProblemError(_("That is too long for a slope; write it like {like}.", like=like))
    plain = shown
    for other, ours in _SPELT:
        plain = " ".join(other.sub(ours, plain).split())
    if (found := _RATIO.fullmatch(plain)) and not Fraction(found[2]):
        raise UnitProblemError(_("“{shown}” has no run; write it like {like}.", shown=shown, like=like))
    slope = _slope(plain)
    if slope is None:
        raise UnitProblemError(
            _(
                "“{shown}” is not a slope; write it like {spelling}.",
                shown=shown,
                spelling=_spelling(shown, plain) or like,
            )
        )
    return slope


def _slope(plain: str) -> Slope | None:
    """The slope, None where the text is none or could be two."""
    if found := _RATIO.fullmatch(plain):
        return Slope(Fraction(found[1]) / Fraction(found[2])) if Fraction(found[2]) else None
    if found := _FRACTION.fullmatch(plain):
        size, of = Fraction(found[2]), int(found[3])
        if not of or of in _ON_THE_TAPE:
            return None
        return Slope(-size / of if found[1] else size / of)
    if found := _BARE_RISE.fullmatch(plain):
        # What a rise without a unit counts is clear in a fraction for a foot alone: inches.
        inches = _number(found[1]) if "/" in found[1] and found[2] == "ft" else None
        return Slope(inches / 12) if inches is not None else None
    for ending, of_number in _ENDINGS.items():
        if plain.endswith(ending):
            number = _number(plain.removesuffix(ending).strip())
            return of_number(number) if number is not None else None
    rise_text, per, run_text = plain.partition(" per ")
    try:
        if per:
            run = read_quantity(run_text, "m")
            return Slope(read_quantity(rise_text, "m") / run) if run else None
        # Asked first, for pint takes any unit over itself for a number.
        return Slope(read_quantity(plain, "m/m")) if _RISE_OVER_RUN.fullmatch(plain) else None
    except UnitProblemError:
        return None


def _spelling(shown: str, plain: str) -> str | None:
    """How a slope that is not understood, or could be two, is written instead; None where nobody can tell."""
    if (pointed := _COMMA.sub(".", plain)) != plain and _slope(pointed) is not None:
        return _COMMA.sub(".", shown)
    if found := _FRACTION.fullmatch(plain):
        size, of = found[1] + found[2], found[3]
        return _("{plain} in/ft or {size}:{of}, whichever it is", plain=plain, size=size, of=of) if int(of) else None
    if found := _BARE_RISE.fullmatch(plain):
        number, unit = found.groups()
        if _number(number) is None:
            return None
        return (
            f"{number} mm/m" if unit == "m" else _("{number} in/ft or {number} ft/ft, whichever it is", number=number)
        )
    if found := _ONE_IN.fullmatch(plain):
        return f"{found[1]}:{found[2]}"
    if (found := _PER_CENT.fullmatch(plain)) and _number(found[1]) is not None:
        return f"{found[1]}%"
    if _DECIMAL.fullmatch(plain) and 0 < (number := Fraction(plain)) < 1:
        return _("{number:g}% ({plain} is no slope without a unit)", number=float(number * 100), plain=plain)
    return None


def _of_percent(number: Fraction) -> Slope:
    return Slope(number / 100)


def _of_degrees(number: Fraction) -> Slope:
    # A tangent has no exact value; twelve decimals are a thousandth of a micrometre in a kilometre.
    if abs(number) >= 60:
        raise UnitProblemError(
            _("{number:g} degrees is no slope of paving; write it like 1.5 deg or 2%.", number=float(number))
        )
    return Slope(Fraction(round(math.tan(math.radians(number)) * 10**12), 10**12))


def _of_seconds(number: Fraction) -> Slope:
    return _of_degrees(number / 3600)


def _of_per_mille(number: Fraction) -> Slope:
    return Slope(number / 1000)


_ENDINGS = {
    "%": _of_percent,
    "percent": _of_percent,
    "‰": _of_per_mille,
    "deg": _of_degrees,
    "arcsec": _of_seconds,
}


def _number(text: str) -> Fraction | None:
    if found := _DECIMAL.fullmatch(text):
        return Fraction(found[1] + found[2])
    if found := _MIXED.fullmatch(text):
        if not int(found[4]):
            return None
        size = int(found[2] or 0) + Fraction(int(found[3]), int(found[4]))
        return -size if found[1] == "-" else size
    return None


def _compound(text: str) -> pint.Unit:
    """A unit such as ``$/yd^3`` put together from names of the list alone."""
    units = registry()
    above, slash, below = text.partition("/")
    compound = _power(above, units)
    return compound / _power(below, units) if slash else compound


def _power(text: str, units: pint.UnitRegistry[Fraction]) -> pint.Unit:
    if (ours := _OTHER_NAMES.get(" ".join(text.split()))) is not None:
        raise UnitProblemError(
            _("“{reason}” is not a unit known here; write {ours}.", reason=" ".join(text.split()), ours=ours)
        )
    text = text.replace(" ", "")
    found = _UNIT.fullmatch(text)
    if found is None or found[1] not in NAMES:
        known = ", ".join(NAMES)
        raise UnitProblemError(_("“{text}” is not a unit known here; use one of {known}.", text=text, known=known))
    return getattr(units, NAMES[found[1]]) ** _POWERS[found[2] or ""]  # type: ignore[no-any-return]


def _dimensionality_error() -> type[Exception]:
    import pint

    return pint.DimensionalityError
