"""The instrument's part of a daily report by hand: setups, rechecks, turning points and circuits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from tests.faults.by_hand import ALLOWED, OUT, Book, Job, Place, Row, exact, figure, inches, marks, rounded, rows_of

Said = dict[str, Any]
NO_SIGHTS = ("reading", "note", "cautions", "void", "day", "plan", "moved", "backsight")
"""Kinds that change no plane and no mark; a void does, but the soak strikes readings and backsights alone."""


class InstrumentOfDay:
    """A day of a journal that was read by hand, as far as the instrument goes."""

    def __init__(self, job: Path, journal: Path, day: str) -> None:
        self.job = Job(job.read_text(encoding="utf-8"))
        self.rows, self.day = rows_of(journal), day
        self.book = Book(self.job, self.rows)
        self.read_from = Counter(each.last.fact["setup"] for each in self.book.of("reading", day))
        self._then: dict[int, Book] = {}

    def then(self, seq: int) -> Book:
        """What was known of marks and setups when that entry was written."""
        known = [row for row in self.rows[: seq - 1] if row.kind not in NO_SIGHTS]
        if len(known) not in self._then:
            self._then[len(known)] = Book(self.job, known)
        return self._then[len(known)]

    def noted(self, row: Row, what: str | None = None, *, kind: str = "", why: str = "") -> Said:
        """An entry with its number, its time and whose it is."""
        said = {"seq": row.seq, "when": row.time if row.day == self.day else f"{row.day} {row.time}", "by": row.by}
        if what is not None:
            said["what"] = what
        return {**said, "kind": kind, "why": why} if kind else said

    # -- the instrument

    def set_ups(self) -> list[Place]:
        """Those made that day, and those read from."""
        return [
            each for each in self.book.of("set-up") if each.first.day == self.day or self.read_from[each.first.id]
        ]

    def standing(self, setup: str) -> int:
        """The number of the entry that stands for it."""
        return self.book.setups[setup].last.seq

    def set_up(self, each: Place) -> Said:
        """A setup with its marks."""
        id_, book = each.first.id, self.book
        sights, planes, mean, failed = book.sights(id_), book.planes(id_), book.plane(id_), book.disturbed(id_)
        read = ", ".join(f"{mark} {marks(rod)} in" for mark, rod in sights)
        several = len(sights) > 1
        only = "benchmark" if sights[0][0] in book.job.given else "turning point"
        agreement = f"One {only} only: no check on this setup."
        if several:
            agreement = self.agreement(max(planes) - min(planes))
        return {
            **self.noted(each.last),
            "why": each.last.fact.get("why", ""),
            "stands": f"site rod on {read}; HI {marks(mean)} in",
            "marks": [
                {"mark": mark, "rod": f"{marks(rod)} in", "zero": f"{marks(at)} in",
                 "off": marks(at - mean, "+") if several else ""}
                for (mark, rod), at in zip(sights, planes, strict=True)
            ],
            "agreement": agreement,
            "readings": self.read_from[id_],
            "disturbed": f"FOUND DISTURBED by the recheck no. {failed.last.seq}" if failed else "",
        }  # fmt: skip

    def disagrees(self, each: Place) -> str:
        """That the two marks of a setup disagree, and why it is used; empty where they agree."""
        planes = self.book.planes(each.first.id)
        if max(planes) - min(planes) <= ALLOWED:
            return ""
        told = self.agreement(max(planes) - min(planes)).removeprefix("THEY DISAGREE ").split(". ")[0]
        why = each.last.fact.get("why", "")
        return f"SETUP DISAGREES {told}{f': {why}' if why else ''}"

    @staticmethod
    def agreement(spread: Fraction) -> str:
        """How well two marks agree."""
        if not spread:
            return f"They agree exactly (allowed {exact(ALLOWED)} in)."
        told = f"{exact(spread)} in (allowed {exact(ALLOWED)} in)"
        if spread <= ALLOWED:
            return f"They agree within {told}; the mean is taken."
        return f"THEY DISAGREE by {told}. Read again, or strike one."

    def recheck(self, each: Place) -> Said:
        """Another look at a mark, as it was judged and is."""
        row, off = each.last, self.book.off(each)
        word, at = rounded(off, ALLOWED)
        then = self.then(each.first.seq).off(each)
        assert inches(row.fact["off"]) == then, f"entry {row.seq} was off by {then}, not by {row.fact['off']} m"
        rod = inches(row.fact["rod"])
        return {
            "seq": row.seq, "time": row.time, "by": row.by, "setup": self.standing(row.fact["setup"]),
            "mark": row.fact["mark"], "rod": figure(rod, exact(rod)),
            "off": figure(off, f"{'' if at == off else '~'}{exact(at)}"),
            "then": "OK" if abs(then) <= ALLOWED else "FAILED", "now": "FAILED" if word in OUT else "OK",
        }  # fmt: skip

    def carried(self, made: Place) -> str:
        """The sum by which a mark's elevation was carried."""
        mark, before = made.last.fact["mark"], made.first.seq + 1
        steps = self.book.chain(mark, before)
        start, end = self.job.given[steps[0][0]], self.book.elevation(mark, before)
        words = f"{steps[0][0]} {exact(start)}" + "".join(f" + {exact(b)} - {exact(f)}" for _, b, _, f in steps)
        rest = end - start - sum(b - f for _, b, _, f in steps)
        mean = f" {'-' if rest < 0 else '+'} {exact(abs(rest))} by the mean of backsights" if rest else ""
        return f"{mark} = {words}{mean} = {exact(end)} in".replace("-", "−")

    def circuits(self) -> Iterator[str]:
        """Each way from one benchmark to another, or back to it."""
        book = self.book
        for each in book.of("set-up"):
            id_, seq = each.first.id, each.first.seq
            (base, rod), *others = book.sights(id_)
            sights = [(seq, mark, other) for mark, other in others]
            sights += [(look.first.seq, look.last.fact["mark"], inches(look.last.fact["rod"]))
                       for look in book.looks.get(id_, [])]  # fmt: skip
            for _, mark, other in sorted(sights, key=lambda sight: sight[0]):
                if mark in self.job.given and mark != base:
                    steps = [*book.chain(base, seq), (base, rod, mark, other)]
                    off = sum(b - f for _, b, _, f in steps) + self.job.given[steps[0][0]] - self.job.given[mark]
                    yield from self.closing([steps[0][0], *self.way(base, seq), mark], off)

    def way(self, base: str, before: int) -> list[str]:
        """The marks made on site on the way there; of those taken anew on it each with the entry that made it."""
        made: list[Place] = []
        here, place = self.book.seen(base, before), before
        while here:
            made.insert(0, here)
            setup = here.last.fact["setup"]
            place = self.book.setups[setup].first.seq
            here = self.book.seen(self.book.sights(setup)[0][0], place)
        names = [each.last.fact["mark"] for each in made]
        return [f"{name} of entry {each.first.seq}" if names.count(name) > 1 else name
                for name, each in zip(names, made, strict=True)]  # fmt: skip

    @staticmethod
    def closing(ends: Sequence[str], off: Fraction) -> Iterator[str]:
        """One circuit through these marks, and their corrections."""
        count = len(ends) - 1
        verdict = "it closes" if abs(off) <= ALLOWED else "IT DOES NOT CLOSE"
        told = f"misclosure {exact(off)} in, allowed {exact(ALLOWED)} in: {verdict}."
        yield f"{' - '.join(ends)}: {count} setup{'s' if count > 1 else ''}, {told}"
        yield "  page check: the sums agree"
        if off and count > 1:
            shares = ", ".join(f"{end} {exact(-off * n / count)}" for n, end in enumerate(ends) if n)
            yield f"  shared out by setups: {shares}"
