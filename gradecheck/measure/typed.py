"""Reads lengths and tolerances as people type them, exactly; what is not understood is refused with one sentence."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT, INCH, Length

LONGEST = 24
"""Characters; no honest length is longer, and a bound keeps hostile text from costing time."""

DIGITS, DIGITS_OF_A_PLACE = 7, 10
"""Before the point; a coordinate of a country's grid has more than any reading, in millimetres up to ten."""

LENGTH_UNITS: dict[str, Fraction] = {
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
    "ft": FOOT,
    "foot": FOOT,
    "feet": FOOT,
    "'": FOOT,
    "yd": 3 * FOOT,
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
}
"""Metres in each unit a length may be written in: a closed list, none of it negotiable."""


_SAME_SIGN = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{FRACTION SLASH}": "/",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
    }
)
_ONE_CHARACTER_FRACTIONS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
_ONE_CHARACTER = re.compile(f"[{''.join(_ONE_CHARACTER_FRACTIONS)}]")
_SPELLED = re.compile(f"(?<=[0-9]){_ONE_CHARACTER.pattern}")
"""A fraction right behind its whole: 13⅜. Behind a hyphen or a space it stands as it is."""
_DENOMINATORS = (2, 4, 8, 16, 32, 64)

_UNIT = r'(?P<unit>[a-z]+|"|\')'
_FRACTION = r"(?P<num>[0-9]{1,4})/(?P<den>[0-9]{1,4})"
_DECIMAL = re.compile(rf"(?P<number>[0-9]{{1,10}}(?:[.,][0-9]{{1,6}})?|[.,][0-9]{{1,6}}) ?{_UNIT}?")
# A hyphen joins only where no space is beside it: 10 -1/2 may as well be ten high and a half low, or a sum.
_MIXED = re.compile(rf"(?:(?P<whole>[0-9]{{1,6}})[ -])?{_FRACTION} ?{_UNIT}?")
_FEET_AND_INCHES = re.compile(
    r"(?P<feet>[0-9]{1,5}) ?(?:'|ft|foot|feet)(?:-| ?)"
    rf"(?:(?P<inches>[0-9]{{1,2}}(?:[.,][0-9]{{1,6}})?)(?:[ -]{_FRACTION})?"
    r"|(?P<num2>[0-9]{1,4})/(?P<den2>[0-9]{1,4})) ?(?:\"|in|inch|inches)?"
)
# Without marks, for a keypad that has none: 4-3-1/2 or 4 3 1/2, only where the job writes feet and inches.
_BARE_FEET_AND_INCHES = re.compile(rf"(?P<feet>[0-9]{{1,5}})[ -](?P<inches>[0-9]{{1,2}})(?:[ -]{_FRACTION})?")
# A fraction that a keypad or a hasty hand wrote otherwise: 54 7 8, 54.7/8, 54+7/8.
_FRACTION_MEANT = re.compile(r"([0-9]{1,6})[ .+-]([0-9]{1,2})[ /-]([0-9]{1,2})")


_PLAIN = re.compile(r"(-?)([0-9]{1,10})(?:\.([0-9]{1,6}))?", re.ASCII)


class NotUnderstoodError(ValueError):
    """The text is no length; the message is one sentence for the person who typed it."""


def read_length(text: str, units: Units) -> Length:
    """The exact length that `text` writes; a bare number counts `units`.

    Raises `NotUnderstoodError` with one sentence that says what was not understood and shows an example.
    """
    return _read(text, units, DIGITS)


def read_coordinate(text: str, units: Units) -> Length:
    """As `read_length`, for a place on a plan, which may be counted from far away: ``10000000.00 ft``."""
    return _read(text, units, DIGITS_OF_A_PLACE)


def _read(text: str, units: Units, digits: int) -> Length:
    if (found := _PLAIN.fullmatch(text)) and len(found[2]) <= digits:
        # What most lists hold by the thousand, and reads so whatever else it is held against.
        part, one = found[3] or "", units.one.metres
        number = int(found[1] + found[2] + part)
        return Length(Fraction(number * one.numerator, 10 ** len(part) * one.denominator))
    typed = plain_signs(text)
    plain = typed.lower()
    if not plain:
        raise NotUnderstoodError(_("Nothing was typed; type a length, for example {example}.", example=units.example))
    if len(typed) > LONGEST:  # a few letters are more than one where they are small
        raise NotUnderstoodError(
            _(
                "That is {number} characters long; a length is short, for example {example}.",
                number=len(typed),
                example=units.example,
            )
        )
    if not plain.isprintable():
        # A line end among them: two readings run together must not become one.
        raise NotUnderstoodError(
            _("That has a character in it that can't be seen; type it like {example}.", example=units.example)
        )
    size, negative = _unsigned(plain)
    metres = _metres(size, units, typed, digits)
    return Length(-metres if negative else metres)


def unit_named(text: str) -> Length | None:
    """One of the unit that a length which could be read names, the inch behind feet; None where it names none."""
    size, _ = _unsigned(plain_signs(text).lower())
    if _FEET_AND_INCHES.fullmatch(size):
        return Length(INCH)
    found = _MIXED.fullmatch(size) or _DECIMAL.fullmatch(size)
    return Length(LENGTH_UNITS[found["unit"]]) if found and found["unit"] else None


def plain_signs(text: str) -> str:
    """The text with single spaces, and each sign that has several forms in its plain one."""
    return _single_spaced(text.translate(_SAME_SIGN))


def _unsigned(plain: str) -> tuple[str, bool]:
    """The text without its sign and with every fraction spelled out, and whether the sign was a minus."""
    size = _SPELLED.sub(lambda found: f" {_ONE_CHARACTER_FRACTIONS[found[0]]}", plain)
    size = _ONE_CHARACTER.sub(lambda found: _ONE_CHARACTER_FRACTIONS[found[0]], size)
    return (size[1:].lstrip() if size[:1] in ("-", "+") else size), size.startswith("-")


def _single_spaced(text: str) -> str:
    return " ".join(word for word in text.split(" ") if word)


def _metres(size: str, units: Units, typed: str, digits: int) -> Fraction:
    if found := _FEET_AND_INCHES.fullmatch(size):
        return _feet_and_inches(found, units)
    if units is Units.FT_IN and (found := _BARE_FEET_AND_INCHES.fullmatch(size)):
        return _feet_and_inches(found, units)
    if found := _MIXED.fullmatch(size):
        number = Fraction(found["whole"] or 0) + _fraction(found["num"], found["den"])
        return number * _unit(found["unit"], units, typed)
    found = _DECIMAL.fullmatch(size)
    if found and len(re.split("[.,]", found["number"])[0]) <= digits:
        return _decimal(found["number"]) * _unit(found["unit"], units, typed)
    if " -" in size or "- " in size:
        like = _("3-1/2 or 3 1/2") if units in (Units.IN, Units.FT_IN) else units.example
        raise NotUnderstoodError(
            _("“{typed}” has a space beside its hyphen; type it like {like}.", typed=typed, like=like)
        )
    if units in (Units.IN, Units.FT_IN) and (found := _FRACTION_MEANT.fullmatch(size)):
        whole, num, den = found.groups()
        if int(den) in _DENOMINATORS and int(num) < int(den):
            raise NotUnderstoodError(
                _(
                    "“{typed}” is not a length; if {whole}-{num}/{den} is meant, type that.",
                    typed=typed,
                    whole=whole,
                    num=num,
                    den=den,
                )
            )
    raise NotUnderstoodError(
        _("“{typed}” is not a length; type it like {example}.", typed=typed, example=units.example)
    )


def _feet_and_inches(found: re.Match[str], units: Units) -> Fraction:
    parts = found.groupdict()
    inches = _decimal(parts["inches"] or "0")
    num, den = parts["num"] or parts.get("num2"), parts["den"] or parts.get("den2")
    if num and den:
        if inches.denominator != 1:
            raise NotUnderstoodError(_("Inches have either a decimal or a fraction, not both; type 3-1/2 or 3.5."))
        inches += _fraction(num, den)
    if inches >= 12:
        raise NotUnderstoodError(
            _(
                "{parts} inches beside feet is a foot or more; type it like {example}.",
                parts=parts["inches"],
                example=Units.FT_IN.example,
            )
        )
    return int(parts["feet"]) * FOOT + inches * INCH


def _fraction(num: str, den: str) -> Fraction:
    if int(den) not in _DENOMINATORS:
        raise NotUnderstoodError(
            _("{num}/{den} is on no tape; use halves, 4ths, 8ths, 16ths, 32nds or 64ths, like 3/8.", num=num, den=den)
        )
    if int(num) >= int(den):
        # 413/16 is 4 13/16 with the space lost far more often than it is 25 13/16.
        raise NotUnderstoodError(
            _("{num}/{den} is a whole or more; type the whole apart, like 4-13/16.", num=num, den=den)
        )
    return Fraction(int(num), int(den))


def _decimal(number: str) -> Fraction:
    whole, comma, part = number.partition(",")
    if comma and len(part) == 3:
        raise NotUnderstoodError(
            _(
                "“{number}” can mean two things; type {whole_or_zero}.{part} or {whole}{part}.",
                number=number,
                whole_or_zero=whole or 0,
                part=part,
                whole=whole,
            )
        )
    return Fraction(number.replace(",", "."))


def _unit(name: str | None, units: Units, typed: str) -> Fraction:
    if name is None:
        return units.one.metres
    if name not in LENGTH_UNITS:
        raise NotUnderstoodError(
            _(
                "“{name}” in “{typed}” is not a unit of length here; use in, ft, mm, cm or m, like {example}.",
                name=name,
                typed=typed,
                example=units.example,
            )
        )
    return LENGTH_UNITS[name]


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The difference allowed above (`high`) and below (`low`) the wanted elevation; both are inclusive."""

    high: Length
    low: Length


_HIGH_AND_LOW = re.compile(r"\+(?P<high>[^ +-][^+]*?)(?: ?/ ?| )-(?P<low>[^ +-][^+]*)")
_ALIKE = re.compile(r"(?:± ?)?(?P<size>[^ +-].*)")


def read_tolerance(text: str, units: Units, apart: str = "") -> Tolerance:
    """How far above and below that text allows: ``+1/2 -1/4``, ``+1/2/-1/4``, ``±1/2``, or ``1/2`` for both ways.

    A bare number counts `units`. Raises `NotUnderstoodError` with one sentence that names `apart`, the way that
    leaves nothing open; where none is given, as a job file writes it.
    """
    plain, words = plain_signs(text), units.examples
    apart = apart or words.apart
    try:
        if len(plain) <= 2 * LONGEST:
            if found := _HIGH_AND_LOW.fullmatch(plain):
                return _apart(found["high"], found["low"], units)
            if found := _ALIKE.fullmatch(plain):
                size = read_length(found["size"], units)
                return Tolerance(size, size)
    except NotUnderstoodError as wrong:
        raise NotUnderstoodError(
            _("{wrong}; or write {apart}.", wrong=str(wrong).removesuffix("."), apart=apart)
        ) from wrong
    if plain.startswith("-"):
        raise NotUnderstoodError(
            _(
                "A tolerance is written without a minus: {tolerance}, or {apart}.",
                tolerance=words.tolerance,
                apart=apart,
            )
        )
    shown = f"“{plain[:LONGEST]}”" if plain.isprintable() else _("This")
    raise NotUnderstoodError(
        _(
            "{shown} is not a tolerance; write {tolerance}, +{high} -{tolerance}, or write {apart}.",
            shown=shown,
            tolerance=words.tolerance,
            high=words.high,
            apart=apart,
        )
    )


def _apart(high: str, low: str, units: Units) -> Tolerance:
    found = Tolerance(read_length(high, units), read_length(low, units))
    # “+1/2 -1/4 in” in a job in feet: nobody writes half a foot so, and a unit behind both is not read for both.
    for bare, named in (high, low), (low, high):
        unit = unit_named(named)
        if unit_named(bare) is None and unit is not None:
            size = read_length(bare, units)
            if size and unit != units.one:
                raise NotUnderstoodError(
                    _("“+{high} -{low}” has a unit at one of its two numbers; write it at both.", high=high, low=low)
                )
    return found
