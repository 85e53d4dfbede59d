"""Our quicker `dataclass` does what the standard library's does."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import sys
from typing import Any, ClassVar, get_type_hints

import pytest

from gradecheck import frozen


def _classes(make: Any) -> dict[str, type]:
    @make(frozen=True, slots=True)
    class Slotted:
        """Its own words."""

        name: str
        size: int = 3
        parts: tuple[int, ...] = ()
        KIND: ClassVar[str] = "kind"

    @make(frozen=True)
    class Open:
        name: str
        lines: list[int] = dataclasses.field(default_factory=list)

        def __post_init__(self) -> None:
            if not self.name:
                raise ValueError("no name")

    @make(frozen=True, slots=True)
    class Empty:
        pass

    @make(frozen=True)
    class Alone:
        name: str

    @make(frozen=True)
    class Below(Alone):
        size: int = 1

    @make(frozen=True, slots=True, kw_only=True)
    class Named:
        name: str

    @make(frozen=True)
    class Partly:
        name: str
        hidden: int = dataclasses.field(default=0, compare=False, repr=False)

    @make
    class Loose:
        name: str

    return {each.__name__: each for each in (Slotted, Open, Empty, Alone, Below, Named, Partly, Loose)}


OURS, THEIRS = _classes(frozen.dataclass), _classes(dataclasses.dataclass)
GIVEN: tuple[tuple[str, tuple[object, ...], dict[str, object]], ...] = (
    ("Slotted", ("a",), {}),
    ("Slotted", ("a", 4), {"parts": (1, 2)}),
    ("Open", ("a",), {}),
    ("Open", ("a", [1]), {}),
    ("Empty", (), {}),
    ("Alone", ("a",), {}),
    ("Below", ("a", 2), {}),
    ("Named", (), {"name": "a"}),
    ("Partly", ("a", 7), {}),
    ("Loose", ("a",), {}),
)


def _outcome(act: Any) -> object:
    try:
        return act()
    except Exception as wrong:  # noqa: BLE001 - each is compared by its kind
        return type(wrong)


def _refused(outcome: object) -> bool:
    """Whether it failed; how, the standard library's guard of classes with slots gets wrong before 3.12."""
    return isinstance(outcome, type) and issubclass(outcome, AttributeError | TypeError)


@pytest.mark.parametrize(("name", "given", "named"), GIVEN)
def test_is_as_the_standard_one(name: str, given: tuple[object, ...], named: dict[str, object]) -> None:
    both = []
    for classes in (OURS, THEIRS):
        kind = classes[name]
        one, same = kind(*given, **named), kind(*given, **named)
        both.append(
            {
                "repr": repr(one),
                "equal": (
                    one == same,
                    one != same,
                    one == given,
                    len({one}) if kind.__hash__ and name != "Open" else 0,
                ),
                "other": [one == _outcome(lambda kind=kind: kind("b")), one == classes["Empty"]()],
                "hash": _outcome(lambda one=one, same=same: hash(one) == hash(same)),
                "dict": dataclasses.asdict(one),  # type: ignore[call-overload]
                "signature": str(inspect.signature(kind)),
                "hints": get_type_hints(kind.__init__, vars(sys.modules[__name__])),  # type: ignore[misc]
                "match": kind.__match_args__,  # type: ignore[attr-defined]
                "set": _refused(_outcome(lambda one=one: setattr(one, "name", "b"))),
                "new": _refused(_outcome(lambda one=one: setattr(one, "other", "b"))),
                "deleted": _refused(_outcome(lambda one=one: delattr(one, "name"))),
                "missing": _outcome(lambda kind=kind: repr(kind())),
                "too many": _outcome(lambda kind=kind: kind(1, 2, 3, 4, 5)),
                "no name": _outcome(lambda kind=kind: repr(kind(name=""))),
                "replaced": _outcome(lambda one=one: repr(dataclasses.replace(one, name="c"))),
                "frozen": kind.__dataclass_params__.frozen,  # type: ignore[attr-defined]
                "slots": getattr(kind, "__slots__", None),
                "copied": (_outcome(lambda one=one: copy.copy(one) == one), repr(copy.deepcopy(same))),
            }
        )
    assert both[0] == both[1]


def test_a_fact_goes_through_a_pickle() -> None:
    from gradecheck.measure.quantities import inches

    assert pickle.loads(pickle.dumps(inches(3))) == inches(3)  # noqa: S301 - made in this line


def test_one_compilation_makes_a_class() -> None:
    ran = [0]
    sys.addaudithook(lambda event, _given: ran.__setitem__(0, ran[0] + (event == "exec")))
    before = ran[0]
    frozen.dataclass(frozen=True, slots=True)(
        type("Point", (), {"__annotations__": {"x": "int"}, "__module__": __name__})
    )
    assert ran[0] - before == 1
