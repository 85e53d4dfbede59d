"""The keys of a job file, as its models have them: which may stand where, and what each is for."""

from __future__ import annotations

import ast
import re
import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, NamedTuple, Union, get_args, get_origin

from gradecheck.plan.document import JobEntry, LayerEntry
from gradecheck.plan.texts import Model
from gradecheck.plan.yaml_tree import KeyPath


class JobFileKey(NamedTuple):
    """A key of the job file: what it is for in one line, and an example of its value."""

    key: str
    says: str
    example: str


def keys_at(path: KeyPath) -> list[str]:
    """The keys that may be written there; none where names of the plan's own, a list or a text belong."""
    return [key for kind in kinds_at(path) if is_model(kind) for key in fields_of(kind)]


def kinds_at(path: KeyPath) -> list[Any]:
    """What may stand there: models, dictionaries and lists, and the types of single texts."""
    found: list[Any] = [JobEntry]
    for step in path:
        found = [part for kind in found for part in _under(kind, step)]
    return found


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


def described(model: type[Model]) -> list[JobFileKey]:
    """The keys of a model, each with what stands below its field in the source."""
    written = _written_below_fields()
    keys = []
    for name, field in model.model_fields.items():
        owner = next(each for each in model.__mro__ if f"{each.__name__}.{name}" in written)
        keys.append(JobFileKey(field.alias or name, *written[f"{owner.__name__}.{name}"]))
    return keys


def sections() -> list[tuple[str, list[JobFileKey]]]:
    """Every key of the job file by the place where it stands, such as ``areas: NAME: points: NAME``.

    The first are those at the top, under an empty place. What may stand in several places, such as a tolerance, is
    told at the first of them.
    """
    found: list[tuple[str, list[JobFileKey]]] = []
    seen: set[Any] = {LayerEntry}  # its one key is the layer's name
    todo: list[tuple[str, Any]] = [("", JobEntry)]
    while todo:
        title, kind = todo.pop(0)
        parts = get_args(kind)
        if get_origin(kind) is dict:
            name = "NUMBER" if int in alternatives(parts[0]) else "NAME"
            todo += [(f"{title}: {name}", each) for each in alternatives(parts[1])]
        elif get_origin(kind) is list:
            todo += [(f"{title}: [...]", each) for each in alternatives(parts[0])]
        elif is_model(kind) and kind not in seen:
            seen.add(kind)
            found.append((title, described(kind)))
            for key, field in fields_of(kind).items():
                todo += [(f"{title}: {key}" if title else key, each) for each in alternatives(field.annotation)]
    return found


@cache
def _written_below_fields() -> dict[str, tuple[str, str]]:
    """By class and field, the line and the example that stand below each field of the models in their source."""
    from importlib.resources import files

    found: dict[str, tuple[str, str]] = {}
    for name in ("document.py", "area_entries.py", "line_entries.py"):
        tree = ast.parse((files("gradecheck") / "plan" / name).read_text(encoding="utf-8"))
        for entry in (node for node in tree.body if isinstance(node, ast.ClassDef)):
            for field, below in zip(entry.body, entry.body[1:], strict=False):
                if not isinstance(field, ast.AnnAssign) or not isinstance(field.target, ast.Name):
                    continue
                text = " ".join(ast.literal_eval(ast.unparse(below)).split())
                parts = re.fullmatch(r"(.*)\. E\.g\. ``(.*)``\.", text)
                assert parts is not None, f"{entry.name}.{field.target.id} has no example"
                found[f"{entry.name}.{field.target.id}"] = (parts[1], parts[2])
    return found


def _under(kind: Any, step: str | int) -> Iterator[Any]:
    """What may stand behind that key, or in that place of a list."""
    origin, parts = get_origin(kind), get_args(kind)
    if is_model(kind) and (field := fields_of(kind).get(str(step))) is not None:
        yield from alternatives(field.annotation)
    elif origin is dict:
        yield from alternatives(parts[1])
    elif origin is list:
        yield from alternatives(parts[0])


def is_model(kind: Any) -> bool:
    """Whether that type is an entry with keys of its own."""
    return isinstance(kind, type) and issubclass(kind, Model)
