"""A hostile name in large letters is taken for that name, and for no other."""

from __future__ import annotations

import pytest

from gradecheck.app.widgets.letters import large
from tests.faults.hostile import _with_plain_name
from tests.faults.named import Names
from tests.faults.toured import Picture

WIDTH, ROWS = 60, 5


def panel(*rows: str) -> Picture:
    """A panel with a line above it and one below."""
    return Picture(
        "check", [list(row.center(WIDTH)) for row in ("above", *rows, "below")], letters=range(1, ROWS + 1)
    )


@pytest.mark.parametrize(("drawn", "taken"), [("P7,", True), ("P7", False), ("P1,", False), (",P7", False)])
def test_large_letters_are_taken_for_the_name_they_are_of(drawn: str, taken: bool) -> None:
    names = Names(by_cells=True)
    names.add("p1", "P7,", iter("ᐁᐂᐃ"))
    twin, shown = panel("", "", "ᐁᐂᐃ", "", ""), panel(*large(drawn, WIDTH, ROWS))
    lines = _with_plain_name(twin, shown, names)
    assert lines == ([shown.lines[0], ["P7,"], shown.lines[-1]] if taken else shown.lines)


def test_the_name_in_plain_letters_stays_as_it_is() -> None:
    names = Names(by_cells=True)
    names.add("p1", "P7,", iter("ᐁᐂᐃ"))
    twin, shown = panel("", "", "ᐁᐂᐃ", "", ""), panel("", "", "P7,", "", "")
    assert _with_plain_name(twin, shown, names) == shown.lines
