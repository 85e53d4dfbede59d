"""A day in plain fractions of an inch: what counts, what it says and what is in doubt, in the simplest sums."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

GIVEN = {"DOOR": Fraction(0), "KERB": Fraction(-4)}
ALLOWED = Fraction(1, 8)
"""What a mark may be off by when it is looked at again."""


@dataclass
class Line:
    """One thing done: `setup` is the id of the setup it was seen from, `name` a mark or a point."""

    id: str
    kind: str
    name: str = ""
    rod: Fraction = Fraction(0)
    setup: str = ""
    entries: list[str] = field(default_factory=list)
    """The ids of the entries that stood in its place, the last one last."""
    struck: bool = False


class Day:
    """Everything done, in order. It knows nothing of files, windows or entries that count no more."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.written: list[str] = []
        """The id of each entry, in order."""

    def do(self, line: Line) -> None:
        """Something was done."""
        line.entries.append(line.id)
        self.lines.append(line)
        self.written.append(line.id)

    def replace(self, line: Line, entry: str, rod: Fraction | None) -> None:
        """Another entry stands in its place: another figure, or, without one, nothing."""
        line.entries.append(entry)
        self.written.append(entry)
        if rod is None:
            line.struck = True
        else:
            line.rod = rod

    def line(self, id_: str) -> Line | None:
        """What was first written under that id, unless it was struck."""
        return next((line for line in self.lines if line.id == id_ and not line.struck), None)

    def standing(self, kind: str) -> list[Line]:
        """Everything of a kind that counts."""
        return [line for line in self.lines if line.kind == kind and not line.struck]

    def elevation(self, mark: str) -> Fraction | None:
        """Where a mark lies."""
        if mark in GIVEN:
            return GIVEN[mark]
        made = next((line for line in self.standing("mark") if line.name == mark), None)
        return self.seen(made) if made else None

    def height(self, setup: str) -> Fraction | None:
        """The height of the instrument."""
        stood = self.line(setup)
        base = self.elevation(stood.name) if stood else None
        return base + stood.rod if stood is not None and base is not None else None

    def seen(self, line: Line) -> Fraction | None:
        """The elevation that a sight found."""
        height = self.height(line.setup)
        return None if height is None else height - line.rod

    def off(self, look: Line) -> Fraction | None:
        """What a mark was found to be off by."""
        seen, known = self.seen(look), self.elevation(look.name)
        return None if seen is None or known is None else seen - known

    def failed(self, setup: str) -> Line | None:
        """The look that showed that the instrument had been moved."""
        looks = (line for line in self.standing("recheck") if line.setup == setup)
        return next((look for look in looks if (off := self.off(look)) is not None and abs(off) > ALLOWED), None)

    def in_doubt(self, sight: Line) -> bool:
        """Whether a reading or a mark was seen behind the last good look of a setup found to be disturbed."""
        failed = self.failed(sight.setup)
        if failed is not None:
            place = self.lines.index
            good = [
                place(look)
                for look in self.standing("recheck")
                if look.setup == sight.setup and place(look) < place(failed)
                and (off := self.off(look)) is not None and abs(off) <= ALLOWED
            ]  # fmt: skip
            if place(sight) > max(good, default=0):
                return True
        stood = self.line(sight.setup)
        base = next((line for line in self.standing("mark") if stood and line.name == stood.name), None)
        return base is not None and self.in_doubt(base)

    def stands(self) -> Line | None:
        """The setup that may be read from now: the newest, if it was neither struck nor found to be disturbed."""
        newest = next((line for line in reversed(self.lines) if line.kind == "set-up"), None)
        if newest is None or newest.struck or self.height(newest.id) is None or self.failed(newest.id):
            return None
        return newest

    def readings(self) -> dict[str, list[tuple[str, Fraction | None, bool]]]:
        """By point, each reading that counts: its id, what it found, and whether that is in doubt."""
        found: dict[str, list[tuple[str, Fraction | None, bool]]] = {}
        for line in self.standing("reading"):
            found.setdefault(line.name, []).append((line.id, self.seen(line), self.in_doubt(line)))
        return found
