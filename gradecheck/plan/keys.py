"""The keys of a job file, as its models have them: which may stand where."""

from __future__ import annotations

import types
from collections.abc import Iterator
from typing import Annotated, Any, Union, get_args, get_origin

from gradecheck.plan.document import JobEntry
from gradecheck.plan.texts import Model
from gradecheck.plan.yaml_tree import KeyPath


def keys_at(path: KeyPath) -> list[str]:
    """The keys that may be written there; none where names of the plan's own, a list or a text belong."""
    found: list[Any] = [JobEntry]
    for step in path:
        found = [part for kind in found for part in _under(kind, step)]
    return [key for kind in found if _is_model(kind) for key in fields_of(kind)]


def fields_of(model: type[Model]) -> dict[str, Any]:
    """The fields of a model by the keys they are written with."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def alternatives(kind: Any) -> Iterator[Any]:
    """What may stand in a field of that type: models, dictionaries and lists, and the types of single texts."""
    origin = get_origin(kind)
    if origin is Annotated:
        # A reader of texts stands around a plain type; a model or a list in there is still what is written.
        yield from alternatives(get_args(kind)[0])
    elif origin in (Union, types.UnionType):
        for each in get_args(kind):
            yield from alternatives(each)
    elif kind is not type(None):
        yield kind


def _under(kind: Any, step: str | int) -> Iterator[Any]:
    """What may stand behind that key, or in that place of a list."""
    origin, parts = get_origin(kind), get_args(kind)
    if _is_model(kind) and (field := fields_of(kind).get(str(step))) is not None:
        yield from alternatives(field.annotation)
    elif origin is dict:
        yield from alternatives(parts[1])
    elif origin is list:
        yield from alternatives(parts[0])


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Model)
