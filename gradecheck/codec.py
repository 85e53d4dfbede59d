"""Frozen dataclasses to JSON text and back, exactly: a fraction is the text ``-2857/40000``, never a float."""

from __future__ import annotations

import dataclasses
import json
import re
import types
from collections.abc import Callable, Hashable
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

T = TypeVar("T")

_TO_JSON = json.JSONEncoder(separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode
_FROM_JSON = json.JSONDecoder().decode
_FRACTION = re.compile(r"-?[0-9]{1,64}(?:/[0-9]{1,64})?")

Decoder = Callable[[Any], Any]


class CodecError(ValueError):
    """The JSON does not hold a value of the type asked for."""


def encode(value: object) -> str:
    """The value as JSON without spaces, everything in its own order: equal values in equal order have equal text."""
    return _TO_JSON(_plain(value))


def decode(kind: type[T], text: str) -> T:
    """The value of that type. Raises `CodecError` when the text holds anything else."""
    try:
        value: T = _decoder(cast(Hashable, kind))(_FROM_JSON(text))
    except (TypeError, ValueError, KeyError, AttributeError, RecursionError, ZeroDivisionError) as wrong:
        raise CodecError(f"not a {kind.__name__}: {text[:80]}") from wrong
    return value


def _plain(value: object) -> Any:
    if value is None or isinstance(value, str | int | bool):
        return value.value if isinstance(value, StrEnum) else value
    if isinstance(value, Fraction):
        return str(value)
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    names = _fields(cast(Hashable, type(value)))
    if len(names) == 1 and isinstance(only := getattr(value, names[0]), Fraction):
        return str(only)  # a value that is nothing but a fraction is written as the fraction
    return {name: _plain(getattr(value, name)) for name in names}


@cache
def _fields(kind: Hashable) -> tuple[str, ...]:
    if not isinstance(kind, type) or not dataclasses.is_dataclass(kind):
        raise TypeError(f"{kind} has no exact JSON form")
    return tuple(field.name for field in dataclasses.fields(kind))


@cache
def _decoder(kind: Hashable) -> Decoder:
    origin, arguments = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        (inner,) = (_decoder(argument) for argument in arguments if argument is not types.NoneType)
        return lambda plain: None if plain is None else inner(plain)
    if origin is Literal:
        return lambda plain: _one_of(plain, arguments)
    if isinstance(kind, type) and issubclass(kind, tuple) and hasattr(kind, "_fields"):  # a NamedTuple, as a list
        parts = [_decoder(hint) for hint in get_type_hints(kind).values()]
        return lambda plain: kind(*(part(each) for part, each in zip(parts, _checked(plain, list), strict=True)))
    if origin is tuple and arguments[-1] is Ellipsis:
        item = _decoder(arguments[0])
        return lambda plain: tuple(map(item, _checked(plain, list)))
    if origin is tuple:
        items = tuple(map(_decoder, arguments))
        return lambda plain: tuple(item(part) for item, part in zip(items, plain, strict=True))
    if origin is dict:
        value = _decoder(arguments[1])
        return lambda plain: {key: value(part) for key, part in _checked(plain, dict).items()}
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return _dataclass_decoder(kind)
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return {each.value: each for each in kind}.__getitem__
    if kind is Fraction:
        return _fraction
    if kind in (str, int, bool):
        return _exactly(cast(type, kind))
    raise TypeError(f"{kind} has no exact JSON form")


def _dataclass_decoder(kind: Any) -> Decoder:
    hints = get_type_hints(kind)
    fields = dataclasses.fields(kind)
    if len(fields) == 1 and hints[fields[0].name] is Fraction:
        # Rods have few marks, so the same lengths come again and again: one object serves them all.
        return cache(lambda plain: kind(_fraction(plain)))
    missing = dataclasses.MISSING
    required = {field.name for field in fields if field.default is missing and field.default_factory is missing}
    decoders = {field.name: _decoder(hints[field.name]) for field in fields}
    in_order, in_turn = list(decoders), list(decoders.values())

    def read(plain: dict[str, Any]) -> Any:
        if list(plain) == in_order:  # as `encode` writes it
            return kind(*[decoder(value) for decoder, value in zip(in_turn, plain.values(), strict=True)])
        if not required <= plain.keys() <= decoders.keys():
            raise CodecError(f"not the fields of a {kind.__name__}")
        return kind(**{name: decoders[name](value) for name, value in plain.items()})

    return read


def _fraction(plain: Any) -> Fraction:
    # Fraction itself would take 1e400000 and be busy for a minute.
    if not _FRACTION.fullmatch(_checked(plain, str)):
        raise CodecError("not a fraction")
    return Fraction(plain)


def _exactly(kind: type) -> Decoder:
    def read(plain: Any) -> Any:
        if type(plain) is not kind:
            raise CodecError(f"not a {kind.__name__}")
        return plain

    return read


def _checked(plain: Any, kind: type[T]) -> T:
    if type(plain) is not kind:
        raise CodecError(f"not a {kind.__name__}")
    return plain


def _one_of(plain: Any, options: tuple[Any, ...]) -> Any:
    if plain not in options:
        raise CodecError(f"not one of {options}")
    return plain
