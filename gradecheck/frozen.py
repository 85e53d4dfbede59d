"""`dataclass` as the standard library has it, made in a fourth of its time: a start makes more than a hundred.

Most of what `dataclasses` takes is compiling six small functions for each class. Here only ``__init__`` is compiled;
what compares, hashes, shows and guards is shared. A class that asks for anything unusual is left to `dataclasses`.
"""

from __future__ import annotations

import dataclasses
import sys
from operator import attrgetter

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from dataclasses import dataclass as dataclass
    from typing import Any
else:

    def dataclass(cls=None, /, **options):
        """As `dataclasses.dataclass`."""
        if cls is None:
            return lambda each: dataclass(each, **options)
        return (
            _made(cls, slots=bool(options.get("slots")))
            if _is_usual(cls, options)
            else _without_signature(cls, options)
        )


_OWN = ("__init__", "__eq__", "__hash__", "__repr__", "__setattr__", "__delattr__", "__getstate__", "__setstate__")
"""A class that has one of these itself is left to `dataclasses`."""


class _Factory:
    """Stands in a signature for what is made anew each time."""

    def __repr__(self) -> str:
        return "<factory>"


_NOT_GIVEN = _Factory()


def _without_signature(cls: type, options: dict[str, bool]) -> Any:
    """As `dataclasses` makes it; the words of a class that has none are not put together from its signature."""
    bare = not cls.__doc__
    cls.__doc__ = cls.__doc__ or cls.__name__
    made: Any = dataclasses.dataclass(**options)(cls)
    if bare:
        made.__doc__ = None
    return made


def _is_usual(cls: type, options: dict[str, bool]) -> bool:
    """Whether it is frozen, has plain fields, and neither methods of its own for what is made here nor bases."""
    own = vars(cls)
    return (
        options.get("frozen", False)
        and options.keys() <= {"frozen", "slots"}
        and cls.__bases__ == (object,)
        and not any(name in own for name in _OWN)
        and not any(
            word in str(kind) for kind in getattr(cls, "__annotations__", {}).values() for word in ("InitVar", "KW_")
        )
        and all(
            value.init and value.repr and value.compare and value.hash is None and value.kw_only is not True
            for value in own.values()
            if isinstance(value, dataclasses.Field)
        )
    )


def _made(cls: type, slots: bool) -> type:
    made = _without_signature(cls, {"init": False, "repr": False, "eq": False, "slots": slots})
    asked = made.__dataclass_params__
    asked.init = asked.repr = asked.eq = asked.frozen = True
    fields = dataclasses.fields(made)
    names = tuple(field.name for field in fields)
    methods = [_init(made, fields), *_shared(made, names)]
    for method in methods + (_copied(names) if slots else []):
        name = method.__name__
        method.__qualname__ = f"{made.__qualname__}.{name}"
        setattr(made, name, method)
    return made  # type: ignore[no-any-return]


def _init(made: Any, fields: tuple[dataclasses.Field[Any], ...]) -> Callable[..., None]:
    """What sets the fields past the guard, each from what is given or from its default."""
    known: dict[str, Any] = {"_set": object.__setattr__, "_not_given": _NOT_GIVEN}
    parameters, lines = [], []
    for field in fields:
        parameter, value = field.name, field.name
        if field.default is not dataclasses.MISSING:
            known[f"_default_{field.name}"] = field.default
            parameter += f"=_default_{field.name}"
        elif field.default_factory is not dataclasses.MISSING:
            known[f"_make_{field.name}"] = field.default_factory
            parameter += "=_not_given"
            value = f"_make_{field.name}() if {field.name} is _not_given else {field.name}"
        parameters.append(parameter)
        lines.append(f"  _set(_self, {field.name!r}, {value})\n")
    if hasattr(made, "__post_init__"):
        lines.append("  _self.__post_init__()\n")
    text = (
        f"def _with({', '.join(known)}):\n"
        f" def __init__({', '.join(['_self', *parameters])}):\n{''.join(lines) or '  pass'}\n"
        f" return __init__\n"
    )
    space: dict[str, Any] = {}
    exec(text, sys.modules[made.__module__].__dict__, space)  # noqa: S102 - of names that are fields of our own
    init: Callable[..., None] = space["_with"](**known)
    init.__annotations__ = {field.name: field.type for field in fields} | {"return": None}
    return init


def _shared(made: Any, names: tuple[str, ...]) -> list[Callable[..., Any]]:
    """What compares and hashes all fields in their order, shows them, and refuses to change them."""
    get: Callable[[object], object] = attrgetter(*names) if names else lambda _self: ()

    def __eq__(self: object, other: object) -> bool:  # noqa: N807
        return get(self) == get(other) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self: object) -> int:  # noqa: N807
        return hash(get(self))

    def __repr__(self: object) -> str:  # noqa: N807
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in names)})"

    def __setattr__(self: object, name: str, value: object) -> None:  # noqa: N807
        if type(self) is made or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")
        super(made, self).__setattr__(name, value)

    def __delattr__(self: object, name: str) -> None:  # noqa: N807
        if type(self) is made or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
        super(made, self).__delattr__(name)

    return [__eq__, __hash__, __repr__, __setattr__, __delattr__]


def _copied(names: tuple[str, ...]) -> list[Callable[..., Any]]:
    """What copies and pickles a class with slots, past the guard."""

    def __getstate__(self: object) -> list[object]:  # noqa: N807
        return [getattr(self, name) for name in names]

    def __setstate__(self: object, state: list[object]) -> None:  # noqa: N807
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    return [__getstate__, __setstate__]
