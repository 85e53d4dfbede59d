"""A table whose rows are one test: every row is tried, and all that fail are named.

As tests of their own, thousands of short rows take longer to hand out to the workers than to try.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest


def each_of(names: str | Sequence[str], rows: Iterable[Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Gives the test each row in turn, as `pytest.mark.parametrize` would; the other parameters stay fixtures."""
    called = [each.strip() for each in names.split(",")] if isinstance(names, str) else list(names)
    table = [tuple(_values(row, len(called))) for row in rows]
    assert table, "a table has rows"

    def over(test: Callable[..., None]) -> Callable[..., None]:
        signature = inspect.signature(test)

        @functools.wraps(test)
        def tried(**fixtures: Any) -> None:
            failed = []
            for values in table:
                try:
                    test(**dict(zip(called, values, strict=True)), **fixtures)
                except Exception as wrong:  # noqa: BLE001  whatever a row raises is told with that row
                    wrong.add_note(f"in the row {', '.join(map(repr, values))}")
                    failed.append(wrong)
            if failed:
                raise ExceptionGroup(f"{len(failed)} of {len(table)} rows", failed)

        kept = [each for name, each in signature.parameters.items() if name not in called]
        tried.__signature__ = signature.replace(parameters=kept)  # type: ignore[attr-defined]
        return tried

    return over


def _values(row: Any, count: int) -> Sequence[Any]:
    if isinstance(row, type(pytest.param())):
        return row.values
    return row if count > 1 else (row,)
