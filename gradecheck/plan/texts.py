"""Readers of the texts in a job file: each gives an exact value or one sentence."""

from __future__ import annotations

import re
from collections.abc import Callable
from difflib import get_close_matches
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainValidator,
    ValidationError,
    ValidationInfo,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope
from gradecheck.measure.typed import NotUnderstoodError, Tolerance, read_coordinate, read_length, read_tolerance
from gradecheck.measure.units import UnitProblemError, read_quantity, read_slope
from gradecheck.plan.closure import allowance_from
from gradecheck.plan.limits import CODES, RULES
from gradecheck.plan.names import LONGEST_TEXT, name_fault, point_name_fault
from gradecheck.plan.problems import suggestion

_IN_MANY_RULES = {"at", "least", "most", "from", "on", "a", "of", "to"}
"""Words that tell no rule from another."""
_NO_MINUS = _("Write this without a minus; the key gives the direction.")


def refused(says: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{says}", {"says": says})


def refused_at(*complaints: tuple[tuple[str | int, ...], PydanticCustomError]) -> ValidationError:
    """Errors about parts of an entry, each with the path to it; a path that ends in “[key]” means the key."""
    wrong = [InitErrorDetails(type=complaint, loc=way, input=None) for way, complaint in complaints]
    return ValidationError.from_exception_data("parts", wrong)


def plain_text(value: Any, what: str) -> str:
    if isinstance(value, str):
        return value
    raise refused(_("A {what} is expected here, not keys or a list.", what=what))


def _units(info: ValidationInfo) -> Units:
    units = info.context["units"] if info.context else Units.MM
    return Units(units)


def _length(value: Any, info: ValidationInfo, read: Callable[[str, Units], Length] = read_length) -> Length:
    if isinstance(value, Length):
        return value  # a part of a text that was read as a whole
    units = _units(info)
    try:
        return read(plain_text(value, "length"), units)
    except NotUnderstoodError as wrong:
        raise refused(str(wrong)) from wrong


def tolerance_apart(value: Any, info: ValidationInfo) -> dict[str, Any]:
    """A tolerance as ``{high: 1/2 in, low: 3/8 in}``, also where it is written as one text."""
    if isinstance(value, dict):
        return value
    if not isinstance(value, str):
        words = _units(info).examples
        apart = f"+{words.high}{words.unit} -{words.tolerance}{words.unit}"
        raise refused(
            _(
                "A tolerance is one text, such as {tolerance}{unit} or {apart}, or {spelled_out}.",
                tolerance=words.tolerance,
                unit=words.unit,
                apart=apart,
                spelled_out=words.apart,
            )
        )
    tolerance = _tolerance(value, info)
    return {"high": tolerance.high, "low": tolerance.low}


def _tolerance(value: Any, info: ValidationInfo) -> Tolerance:
    units = _units(info)
    try:
        return read_tolerance(plain_text(value, "tolerance"), units)
    except NotUnderstoodError as wrong:
        raise refused(str(wrong)) from wrong


def _coordinate(value: Any, info: ValidationInfo) -> Length:
    return _length(value, info, read_coordinate)


def _alike(value: Any, info: ValidationInfo) -> Length:
    """A tolerance of what has no high and low, such as a taped length: ``1/4 in`` or ``±1/4 in``."""
    return _length(plain_text(value, "length").strip().removeprefix("±"), info)


def _elevation(value: Any, info: ValidationInfo) -> Elevation:
    return Elevation(_length(value, info).metres)


def _slope(value: Any, info: ValidationInfo) -> Slope:
    try:
        return read_slope(plain_text(value, "slope"), _units(info).examples.slopes)
    except UnitProblemError as wrong:
        raise refused(str(wrong)) from wrong


def _fall(value: Any, info: ValidationInfo) -> Slope:
    """A slope whose key says which way it goes; with a minus as well it could mean either."""
    slope = _slope(value, info)
    if slope < NO_SLOPE:
        raise refused(_NO_MINUS)
    return slope


def _fall_or_rise(value: Any, info: ValidationInfo) -> Slope:
    """A slope beside whose key stands one for the other way; a minus is refused with both of them."""
    slope = _slope(value, info)
    if slope < NO_SLOPE:
        size = str(value).strip().lstrip("-\N{MINUS SIGN} ")
        raise refused(_("Write this without a minus: “fall: {size}” goes down, “rise: {size}” goes up.", size=size))
    return slope


def _fall_or_pitch(value: Any, info: ValidationInfo) -> Slope | Literal["pitch"]:
    return "pitch" if value == "pitch" else _fall_or_rise(value, info)


def _quantity(wanted: str) -> PlainValidator:
    """Reads a quantity above nothing in that compound unit."""

    def read(value: Any) -> Fraction:
        try:
            number = read_quantity(plain_text(value, "quantity"), wanted)
        except UnitProblemError as wrong:
            raise refused(str(wrong)) from wrong
        if number <= 0:
            raise refused(_("This must be more than zero."))
        return number

    return PlainValidator(read)


def _price(value: Any) -> tuple[Fraction, Literal["kg", "m^3"]]:
    """A price above nothing, for a kilogram or for a cubic metre; the $ may stand before the number."""
    text = plain_text(value, "price")
    plain = re.sub(r"^ *\$ *([0-9.]+) *(?=/)", r"\1 $", text)
    for unit in ("kg", "m^3"):
        try:
            number = read_quantity(plain, f"$/{unit}")
        except UnitProblemError:
            continue
        if number <= 0:
            raise refused(_("This must be more than zero."))
        return number, unit
    raise refused(
        _("“{text}” is not a price; write it like $38/ton or $57/yd^3 (also t, kg, lb, m^3).", text=text[:20])
    )


def _factor(value: Any) -> Fraction:
    text = plain_text(value, "number")
    if not re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,4})?", text) or Fraction(text) < 1:
        raise refused(
            _(
                "“{text}” is not a factor; write how many of loose make one of compacted, such as 1.25.",
                text=text[:20],
            )
        )
    return Fraction(text)


def _positive(length: Length) -> Length:
    if length <= ZERO:
        raise refused(_("This must be more than zero."))
    return length


def _not_negative(length: Length) -> Length:
    if length < ZERO:
        raise refused(_NO_MINUS)
    return length


def _closure(value: Any, info: ValidationInfo) -> str:
    units = _units(info)
    try:
        allowance_from(plain_text(value, "rule"), units)
    except ValueError as wrong:
        raise refused(str(wrong)) from wrong
    return str(value)


def _count(value: Any) -> int:
    text = plain_text(value, _("whole number"))
    if not (text.isascii() and text.isdigit() and 1 <= len(text) <= 3 and int(text)):
        raise refused(_("“{text}” is not a number that counts; write a whole number such as 3.", text=text))
    return int(text)


def _name(value: Any) -> str:
    name = plain_text(value, "name")
    if fault := name_fault(name):
        raise refused(fault)
    return name


def _typable_name(value: Any) -> str:
    """A name that can be typed where a reading can: it must not look like one."""
    name = plain_text(value, "name")
    if fault := point_name_fault(name):
        raise refused(fault)
    return name


def _rules(value: Any, info: ValidationInfo) -> dict[str, Fraction]:
    """Limits by their names, each of its own kind."""
    if not isinstance(value, dict):
        raise refused(_("Rules are expected here, for example {riser at most: 7 in}."))
    read: dict[str, Fraction] = {}
    wrong: list[tuple[tuple[str, ...], PydanticCustomError]] = []
    for name, text in value.items():
        if name not in RULES:
            wrong.append(
                (
                    (name, "[key]"),
                    refused(_("There is no rule “{name}”.{meant}", name=name[:40], meant=_near_rules(name))),
                )
            )
            continue
        try:
            read[name] = _limit(name, text, info)
        except PydanticCustomError as complaint:
            wrong.append(((name,), complaint))
    if wrong:
        raise refused_at(*wrong)
    return read


def _near_rules(name: str) -> str:
    """The rules that may be meant: those spelled alike and those that share a word, the likest first."""
    asked = set(re.findall(r"[^\W_]+", name.casefold())) - _IN_MANY_RULES
    shared = {rule: sum(word in asked or f"{word}s" in asked for word in rule.split()) for rule in RULES}
    alike = get_close_matches(name.casefold(), RULES, n=3, cutoff=0.6)
    by_words = sorted((rule for rule, words in shared.items() if words), key=lambda rule: -shared[rule])
    near = list(dict.fromkeys([*alike, *by_words]))[:3]
    if not near:
        return _(" “gradecheck rules” lists them all.")
    *others, last = [f"“{rule}”" for rule in near]
    meant = _("{others} or {last}", others=", ".join(others), last=last) if others else last
    return _(" Did you mean {meant}? “gradecheck rules” lists them all.", meant=meant)


def _codes(value: Any) -> tuple[str, ...]:
    """Names of rule sets, each once; one alone may be written without brackets."""
    known = _("{codes} and {last}", codes=", ".join([*CODES][:-1]), last=[*CODES][-1])
    named = [value] if isinstance(value, str) else value
    if not isinstance(named, list):
        raise refused(_("Codes are a list, for example [us-residential]; known are {known}.", known=known))
    read: list[str] = []
    wrong: list[tuple[tuple[str | int, ...], PydanticCustomError]] = []
    for index, each in enumerate(named):
        name = each.strip().casefold() if isinstance(each, str) else ""
        if name in CODES:
            read.append(name)
            continue
        what = _("There is no code “{code}”", code=each[:40]) if isinstance(each, str) else _("A code is a name")
        says = _("{what}; known are {known}.{meant}", what=what, known=known, meant=suggestion(name, CODES))
        wrong.append(((index,) if named is value else (), refused(says)))
    if wrong:
        raise refused_at(*wrong)
    return tuple(dict.fromkeys(read))


def _limit(name: str, text: Any, info: ValidationInfo) -> Fraction:
    kind = RULES[name].kind
    if kind == "slope":
        return _fall(text, info).ratio
    if kind == "length":
        checked = _positive if name == "straightedge" else _not_negative
        return checked(_length(text, info)).metres
    return Fraction(_count(text))


def _words(value: Any) -> str:
    text = plain_text(value, "text")
    if len(text) > LONGEST_TEXT:
        raise refused(_("This text is longer than {most} characters; shorten it.", most=LONGEST_TEXT))
    return text


def _file_name(value: Any) -> str:
    """The name of a file, or a heading in one; it is never painted on a stake and may be longer than a name."""
    text = _words(value)
    if not text.strip():
        raise refused(_("Nothing is named here; write what the file or the heading is called."))
    return text


def key_for_text(key: str) -> BeforeValidator:
    """Lets an entry be written as one text, short for the mapping with that key alone."""
    return BeforeValidator(lambda value: {key: value} if isinstance(value, str) else value)


def text_or_entries(value: Any) -> str:
    """Which way an entry is written: as one text, or with keys or as a list."""
    return "[text]" if isinstance(value, str) else "[entries]"


CoordinateText = Annotated[Length, PlainValidator(_coordinate)]
SizeText = Annotated[Length, PlainValidator(_length), AfterValidator(_positive)]
MarginText = Annotated[Length, PlainValidator(_length), AfterValidator(_not_negative)]
StationText = Annotated[Length, PlainValidator(_length), AfterValidator(_not_negative)]
AlikeText = Annotated[Length, PlainValidator(_alike), AfterValidator(_not_negative)]
ElevationText = Annotated[Elevation, PlainValidator(_elevation)]
SlopeText = Annotated[Slope, PlainValidator(_fall)]
SignedSlopeText = Annotated[Slope, PlainValidator(_slope)]
WaySlopeText = Annotated[Slope, PlainValidator(_fall_or_rise)]
PitchText = Annotated[Slope | Literal["pitch"], PlainValidator(_fall_or_pitch)]
CountText = Annotated[int, PlainValidator(_count)]
Name = Annotated[str, PlainValidator(_name)]
TypableName = Annotated[str, PlainValidator(_typable_name)]
FileName = Annotated[str, PlainValidator(_file_name)]
Closure = Annotated[str, PlainValidator(_closure)]
DensityText = Annotated[Fraction, _quantity("kg/m^3")]
VolumeText = Annotated[Fraction, _quantity("m^3")]
PriceText = Annotated[tuple[Fraction, Literal["kg", "m^3"]], PlainValidator(_price)]
FactorText = Annotated[Fraction, PlainValidator(_factor)]
ShortText = Annotated[str, PlainValidator(_words)]
HoldsText = Annotated[list[Name], BeforeValidator(lambda value: [value] if isinstance(value, str) else value)]
"""Names of stages; one alone may be written without brackets."""
CodesText = Annotated[tuple[str, ...], PlainValidator(_codes)]
RulesText = Annotated[dict[str, Fraction], PlainValidator(_rules)]


class Model(BaseModel):
    """The base of all parts of a job file: unknown keys are refused, and nothing changes after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
