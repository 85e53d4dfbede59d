"""What is written in a job file as text, and the exact value it is read as."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.measure.units import UnitProblemError, read_slope
from gradecheck.plan.closure import allowance_from

LONGEST_NAME = 24
LONGEST_TEXT = 120


def refused(says: str) -> PydanticCustomError:
    return PydanticCustomError("refused", "{says}", {"says": says})


def plain_text(value: Any, what: str) -> str:
    if isinstance(value, str):
        return value
    raise refused(f"A {what} is expected here, not keys or a list.")


def _length(value: Any, info: ValidationInfo) -> Length:
    units = info.context["units"] if info.context else Units.MM
    try:
        return read_length(plain_text(value, "length"), units)
    except NotUnderstoodError as wrong:
        raise refused(str(wrong)) from wrong


def _elevation(value: Any, info: ValidationInfo) -> Elevation:
    return Elevation(_length(value, info).metres)


def _slope(value: Any) -> Slope:
    try:
        return read_slope(plain_text(value, "slope"))
    except UnitProblemError as wrong:
        raise refused(str(wrong)) from wrong


def _positive(length: Length) -> Length:
    if length <= ZERO:
        raise refused("This must be more than nothing.")
    return length


def _not_negative(length: Length) -> Length:
    if length < ZERO:
        raise refused("Write this without a minus; the key says which way it goes.")
    return length


def _closure(value: Any, info: ValidationInfo) -> str:
    units = info.context["units"] if info.context else Units.MM
    try:
        allowance_from(plain_text(value, "rule"), units)
    except ValueError as wrong:
        raise refused(str(wrong)) from wrong
    return str(value)


def _count(value: Any) -> int:
    text = plain_text(value, "whole number")
    if not (text.isascii() and text.isdigit() and 1 <= len(text) <= 3 and int(text)):
        raise refused(f"“{text}” is not a number that counts; write a whole number such as 3.")
    return int(text)


def _name(value: Any) -> str:
    text = plain_text(value, "name")
    if not text.strip():
        raise refused("A name is empty; give it one that can be painted on a stake.")
    if text != text.strip():
        raise refused(f"“{text}” begins or ends with a space; write it without.")
    if len(text) > LONGEST_NAME:
        raise refused(f"“{text[:LONGEST_NAME]}…” is longer than {LONGEST_NAME} characters; shorten it.")
    return text


def _typable_name(value: Any) -> str:
    """A name that can be typed where a reading can: it must not look like one."""
    name = _name(value)
    if not name[0].isalpha():
        raise refused(f"“{name}” could be taken for a reading; begin a point or mark with a letter.")
    return name


def _words(value: Any) -> str:
    text = plain_text(value, "text")
    if len(text) > LONGEST_TEXT:
        raise refused(f"This text is longer than {LONGEST_TEXT} characters; shorten it.")
    return text


def key_for_text(key: str) -> BeforeValidator:
    """Lets an entry be written as one text, short for the mapping with that key alone."""
    return BeforeValidator(lambda value: {key: value} if isinstance(value, str) else value)


LengthText = Annotated[Length, PlainValidator(_length)]
SizeText = Annotated[Length, PlainValidator(_length), AfterValidator(_positive)]
MarginText = Annotated[Length, PlainValidator(_length), AfterValidator(_not_negative)]
ElevationText = Annotated[Elevation, PlainValidator(_elevation)]
SlopeText = Annotated[Slope, PlainValidator(_slope)]
CountText = Annotated[int, PlainValidator(_count)]
Name = Annotated[str, PlainValidator(_name)]
TypableName = Annotated[str, PlainValidator(_typable_name)]
Closure = Annotated[str, PlainValidator(_closure)]
Words = Annotated[str, PlainValidator(_words)]
