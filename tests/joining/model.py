"""A plain model of joined laptops that shares no code with the program: sets of ancestors, walked one by one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Row:
    """An entry of the model: its name stands for its hash."""

    name: str
    before: str
    laptop: str
    number: int
    at: int
    knows: tuple[str, ...] = ()
    replaces: str = ""
    says: str = ""


@dataclass
class Model:
    """All rows there are, and for each what lies before it."""

    rows: dict[str, Row] = field(default_factory=dict)

    def ancestors(self, name: str) -> set[str] | None:
        """Every row before that one, by chain and by what was known; None where one of them is not there."""
        found: set[str] = set()
        todo = [name]
        while todo:
            row = self.rows.get(todo.pop())
            if row is None:
                return None
            for each in (row.before, *row.knows):
                if each and each not in found:
                    found.add(each)
                    todo.append(each)
        return found

    def closed(self) -> dict[str, set[str]]:
        """The rows that count, with their ancestors."""
        every = {name: self.ancestors(name) for name in self.rows}
        return {name: found for name, found in every.items() if found is not None}

    def order(self) -> list[str]:
        """Those that count, each behind all that it knew: longest way to it first, by brute force."""
        closed = self.closed()
        when: dict[str, int] = {}

        def time_of(name: str) -> int:
            if name not in when:
                row = self.rows[name]
                when[name] = max([row.at, *(time_of(each) + 1 for each in (row.before, *row.knows) if each)])
            return when[name]

        return sorted(closed, key=lambda name: (time_of(name), self.rows[name].laptop, self.rows[name].number, name))

    def line(self, name: str) -> set[str]:
        """The row itself and those before it in its own chain."""
        found = set()
        while name:
            found.add(name)
            name = self.rows[name].before
        return found

    def standing(self, first: str) -> tuple[str, list[str]]:
        """What counts in the place of a row, and all that are left standing against each other there."""
        closed = self.closed()
        tree, grew = {first}, True
        while grew:
            grew = False
            for name in closed:
                row = self.rows[name]
                if name not in tree and row.replaces in tree and row.replaces in closed[name]:
                    tree.add(name)
                    grew = True
        ends = [name for name in tree if not any(self.rows[other].replaces == name for other in tree)]
        left = [name for name in ends if not any(name in closed[other] for other in ends)]
        order = self.order()
        left.sort(key=order.index)
        return left[0], left


def rows_of(model: Model, names: Iterable[str]) -> Model:
    """The model with these rows alone."""
    return Model({name: model.rows[name] for name in names if name in model.rows})
