"""A plain model of what a joined job comes to, in whole inches: it walks ancestors, and knows nothing of the fold."""

from __future__ import annotations

from gradecheck.journal.facts import (
    DoubtAnswered,
    Fact,
    MarkGiven,
    MarkMade,
    PointAdded,
    Reading,
    Rechecked,
    SetupMade,
    TargetChanged,
    Void,
)
from gradecheck.measure.quantities import Elevation, Length, inches
from tests.joining.laptops import Stored, entry_of, plain_of

POINTS = {"W1": -3, "W2": -4, "W3": -5}
BENCHMARKS = {"DOOR": 0, "STEP": 2}

Found = dict[str, tuple[str | int | None, int | None, bool]]
"""By its id each reading that counts: its point, what was found there, and whether that is in doubt.

A point that was added is told by what it is wanted at, for its name depends on who else added one; None where it was
struck. What is found nowhere is not in doubt.
"""


class Inches:
    """The plain model. An entry is called by its hash; its place is that of the first one where it was replaced."""

    def __init__(self, rows: dict[str, Stored]) -> None:
        self.model = plain_of(rows.values())
        self.entries = {digest: entry_of(row) for digest, row in rows.items()}
        self.of_id = {entry.id: digest for digest, entry in self.entries.items()}
        self.closed = self.model.closed()
        self.order = self.model.order()
        self.place = {name: place for place, name in enumerate(self.order)}
        self._replacing: dict[str, list[str]] = {}
        for name in self.order:
            if (replaces := self.entries[name].replaces) is not None:
                self._replacing.setdefault(self.of_id.get(replaces, ""), []).append(name)
        self._left: dict[str, list[str]] = {}
        self._lines: dict[str, set[str]] = {}
        self._beams: dict[str, int | None] = {}
        self._firsts: dict[type, list[str]] = {}
        self._named: dict[str, dict[str, str]] = {}
        self._why: dict[tuple[str, str], set[str]] = {}

    # -- what counts in a place

    def left(self, first: str) -> list[str]:
        """Those that stand in a place, in order: more than one where nobody chose between them."""
        if first not in self._left:
            tree, ends = [first], []
            for name in tree:
                later = [each for each in self._replacing.get(name, ()) if name in self.closed[each]]
                tree += later
                if not later:
                    ends.append(name)
            ends.sort(key=self.place.__getitem__)
            self._left[first] = [each for each in ends if not any(each in self.closed[other] for other in ends)]
        return self._left[first]

    def last(self, first: str) -> str:
        """The one that counts in the place of an entry."""
        return self.left(first)[0]

    def counts(self, first: str) -> Fact:
        """The fact that counts in the place of an entry."""
        return self.entries[self.last(first)].fact

    def disputed(self, first: str) -> set[str]:
        """Those that stand against each other there; none where they say the same."""
        facts = [self.entries[each].fact for each in self.left(first)]
        says = ["struck" if isinstance(fact, Void) else str(fact) for fact in facts]
        alike = [name for name, said in zip(self.left(first), says, strict=True) if said == says[0]]
        return set(self.left(first)) - set(alike[1:]) if len(set(says)) > 1 else set()

    def firsts(self, kind: type[Fact]) -> list[str]:
        """The entries of a kind that are first in their place, in order."""
        if kind not in self._firsts:
            every = (name for name in self.order if self.entries[name].replaces is None)
            self._firsts[kind] = [name for name in every if isinstance(self.entries[name].fact, kind)]
        return self._firsts[kind]

    def standing(self, kind: type[Fact]) -> list[str]:
        """Those of them in whose place such a fact counts."""
        return [name for name in self.firsts(kind) if isinstance(self.counts(name), kind)]

    def line(self, name: str) -> set[str]:
        """An entry and those before it in its own chain."""
        if name not in self._lines:
            self._lines[name] = self.model.line(name)
        return self._lines[name]

    def nobody_chose(self, places: list[str]) -> list[str]:
        """Those of several places whose last entry no author of another's last knew."""
        lasts = {name: self.last(name) for name in places}
        return [name for name in places if not any(lasts[name] in self.closed[each] for each in lasts.values())]

    # -- elevations

    def beam(self, setup: str) -> int | None:
        """Inches above the zero at which the laser of a setup stands."""
        if setup not in self._beams:
            self._beams[setup] = self._beam(setup)
        return self._beams[setup]

    def _beam(self, setup: str) -> int | None:
        fact = self.counts(setup)
        if not isinstance(fact, SetupMade):
            return None
        [sight] = fact.backsights
        mark = self.mark(self.sighted(setup), setup)
        return None if mark is None else mark + whole(sight.rod)

    def sighted(self, setup: str) -> str:
        """The mark that a setup stands on, as whoever made it wrote it."""
        fact = self.entries[setup].fact
        assert isinstance(fact, SetupMade)
        return fact.backsights[0].mark

    def mark(self, name: str, by: str) -> int | None:
        """A mark as whoever wrote that entry knew it, by the name that was written."""
        if name not in BENCHMARKS:
            made = self.made(name, by)
            return self.seen(made) if made else None
        given = self.given(name)
        moved = [each for each in given if self._given(each).moved and each in self.closed[by]]
        # As it always was counts for everybody; as it is from then on, for whoever knew of it.
        told = moved or [each for each in given if not self._given(each).moved]
        return height(self._given(told[-1]).elevation) if told else BENCHMARKS[name]

    def _given(self, name: str) -> MarkGiven:
        fact = self.counts(name)
        assert isinstance(fact, MarkGiven)
        return fact

    def given(self, mark: str) -> list[str]:
        """Where a mark was put right, in order."""
        return [each for each in self.standing(MarkGiven) if self._given(each).mark == mark]

    def made(self, name: str, by: str) -> str:
        """The entry that made a turning point, as whoever wrote that other entry knew it; empty where none did."""
        plain = name.partition(" of ")[0]
        every = [each for each in self.firsts(MarkMade) if self._mark_name(each) == plain]
        line = [each for each in every if each in self.line(by)]
        meant = self.whole_names(by).get(name, "") if plain != name else line[-1] if line else ""
        # Struck ones count no more, and then the one before under that name on that chain does.
        made = [each for each in every if meant and each in self.line(meant)]
        still = [each for each in made if isinstance(self.counts(each), MarkMade)]
        return still[-1] if still else ""

    def whole_names(self, by: str) -> dict[str, str]:
        """The last that was made of each turning point told by its laptop, for whoever wrote that entry."""
        if by not in self._named:
            seen, found = self.closed[by] | {by}, dict[str, str]()
            known = [each for each in self.firsts(MarkMade) if each in self.closed[by]]
            for plain in sorted({self._mark_name(each) for each in known}):
                for group in self.groups([each for each in known if self._mark_name(each) == plain], seen):
                    name = f"{plain} of {self.entries[group[0]].laptop}"
                    found |= {f"{plain} of {self.entries[each].laptop} ({each[:6]})": group[-1] for each in group}
                    # What was made before the chains parted has its plain name for all.
                    if not self.common(group[0], seen):
                        found.setdefault(name, group[-1])
            self._named[by] = found
        return self._named[by]

    def _mark_name(self, made: str) -> str:
        fact = self.entries[made].fact
        assert isinstance(fact, MarkMade)
        return fact.mark

    def common(self, made: str, seen: set[str]) -> bool:
        """Whether a row lies on every chain, by the rows that were seen: then it was made before they parted."""
        ends = seen - {self.model.rows[each].before for each in seen}
        return all(made in self.line(end) for end in ends)

    def groups(self, made: list[str], seen: set[str]) -> list[list[str]]:
        """Those that are one mark, made anew: nobody who saw these rows saw the chain part in between."""
        found: list[list[str]] = []
        for each in made:
            last = next((one for one in reversed(made) if one != each and one in self.line(each)), "")
            own = [group for group in found if last in group and not self.parts(last, each, seen)]
            own[0].append(each) if own else found.append([each])
        return found

    def parts(self, early: str, late: str, seen: set[str]) -> bool:
        """Whether the chain parts between two rows of it, by the rows that were seen."""
        here = late
        while here != early:
            before = self.model.rows[here].before
            if sum(self.model.rows[each].before == before for each in seen) > 1:
                return True
            here = before
        return False

    def seen(self, made: str) -> int | None:
        """Where a turning point lies, seen from its setup."""
        fact = self.counts(made)
        assert isinstance(fact, MarkMade)
        beam = self.beam(self.of_id[fact.setup])
        return None if beam is None else beam - whole(fact.rod)

    # -- doubt

    def off(self, look: str) -> int | None:
        """What a mark was off by when it was looked at again."""
        now, first = self.counts(look), self.entries[look].fact
        assert isinstance(now, Rechecked)
        assert isinstance(first, Rechecked)
        beam, known = self.beam(self.of_id[now.setup]), self.mark(first.mark, look)
        return None if beam is None or known is None else beam - whole(now.rod) - known

    def looks(self, setup: str, sight: str) -> list[str]:
        """The second looks from a setup on the chain that a sight lies on."""
        found = [each for each in self.standing(Rechecked) if self.of_id[_setup(self.counts(each))] == setup]
        return [each for each in found if each in self.line(sight) or sight in self.line(each)]

    def why(self, setup: str, sight: str) -> set[str]:
        """The entries that put a sight in doubt: failed looks, and what disagrees under its setup."""
        if (setup, sight) not in self._why:
            self._why[setup, sight] = self._failed(setup, sight) | self._under(setup)
        return self._why[setup, sight]

    def _failed(self, setup: str, sight: str) -> set[str]:
        looks = self.looks(setup, sight)
        failed = next((each for each in looks if self.off(each)), None)
        if failed is None:
            return set()
        good = setup
        for each in looks[: looks.index(failed)]:
            if self.off(each) == 0 and self._proves(each, setup, good):
                good = each
        return {failed} if self.place[good] < self.place[sight] else set()

    def _proves(self, look: str, setup: str, since: str) -> bool:
        """Whether a good look shows anything: not where the mark was first seen from here since the last one."""
        fact = self.entries[look].fact
        assert isinstance(fact, Rechecked)
        made = self.made(fact.mark, look) if fact.mark not in BENCHMARKS else ""
        if not made:
            return True
        return self.of_id[_setup(self.counts(made))] != setup or self.place[made] <= self.place[since]

    def _under(self, setup: str) -> set[str]:
        """What puts all in doubt that is seen from a setup."""
        found, mark = self.disputed(setup), self.sighted(setup)
        if mark in BENCHMARKS:
            against = self.against(mark)
            since = [self.place[each] if self._given(each).moved else -1 for each in against]
            if any(each < self.place[setup] for each in since):
                found = found | {self.last(each) for each in against}
        elif made := self.made(mark, setup):
            seen = self.disputed(made) | self.why(self.of_id[_setup(self.counts(made))], made)
            found = found | (set() if self.trusted(made, seen) else seen)
        return found

    def against(self, mark: str) -> list[str]:
        """Where a mark was given, if differently by several of whom none knew the other."""
        left = self.nobody_chose(self.given(mark))
        says = {each: (self._given(each).elevation, self._given(each).moved) for each in left}
        others = [each for each in left if says[each] != says[left[0]]]
        return [left[0], *others] if others else []

    def trusted(self, sight: str, why: set[str]) -> bool:
        """Whether somebody who knew it answered for each thing that puts a sight in doubt."""
        answers = [each for each in self.standing(DoubtAnswered) if self._answers(each, sight)]
        return bool(answers) and all(any(each in self.closed[answer] for answer in answers) for each in why)

    def _answers(self, answer: str, sight: str) -> bool:
        fact = self.counts(answer)
        assert isinstance(fact, DoubtAnswered)
        return self.entries[sight].id in fact.readings

    def in_doubt(self) -> list[str]:
        """The readings and turning points in doubt, in order."""
        found = []
        for sight in sorted((*self.standing(Reading), *self.standing(MarkMade)), key=self.place.__getitem__):
            setup = self.of_id[_setup(self.counts(sight))]
            why = self.why(setup, sight) if self.beam(setup) is not None else set()
            if (why and not self.trusted(sight, why)) or self.disputed(sight):
                found.append(sight)
        return found

    # -- the plan

    def targets(self) -> dict[str, int]:
        """What the points of the plan are wanted at, as changed on site: the first where nobody chose."""
        changed = {point: self.nobody_chose(self.changes(point)) for point in POINTS}
        return {point: self._wanted(left[0]) if (left := changed[point]) else at for point, at in POINTS.items()}

    def changes(self, point: str) -> list[str]:
        """Where a target was changed, in order."""
        return [each for each in self.standing(TargetChanged) if _point(self.counts(each)) == point]

    def _wanted(self, name: str) -> int:
        fact = self.counts(name)
        assert isinstance(fact, TargetChanged | PointAdded)
        return height(fact.finish)

    def is_contested(self, name: str) -> bool:
        """Whether points with other finishes were added under that name."""
        finishes = {self.entries[each].fact.finish for each in self.firsts(PointAdded) if self._adds(each) == name}  # type: ignore[union-attr]
        return len(finishes) > 1

    def _adds(self, name: str) -> str:
        return _point(self.entries[name].fact)

    def added(self) -> list[int]:
        """What the added points are wanted at: one a name, or one a laptop where they differ."""
        every = self.standing(PointAdded)
        points = {
            each if self.is_contested(self._adds(each)) else self._adds(each): self._wanted(each) for each in every
        }
        return sorted(points.values())

    def point(self, reading: str) -> str | int | None:
        """The point that was read; one that was added by what it is wanted at, None where that was struck."""
        name = _point(self.entries[reading].fact)
        if name in POINTS:
            return name
        every = [each for each in self.firsts(PointAdded) if self._adds(each) == name]
        line = [each for each in every if each in self.line(reading)]
        meant = line[-1] if line else next(each for each in every if each in self.closed[reading])
        same = [meant] if self.is_contested(name) else every
        still = [each for each in same if isinstance(self.counts(each), PointAdded)]
        return self._wanted(still[0]) if still else None

    # -- all of it

    def readings(self) -> Found:
        """Every reading that counts."""
        found, doubtful = Found(), set(self.in_doubt())
        for name in self.standing(Reading):
            fact = self.counts(name)
            assert isinstance(fact, Reading)
            beam = self.beam(self.of_id[fact.setup])
            at = None if beam is None else beam - whole(fact.rod)
            found[self.entries[name].id] = self.point(name), at, at is not None and name in doubtful
        return found

    def conflicts(self) -> set[str]:
        """The ids of the places where nobody chose between several that disagree."""
        firsts = (name for name in self.order if self.entries[name].replaces is None)
        found = {self.entries[name].id for name in firsts if self.disputed(name)}
        for mark in BENCHMARKS:
            found |= {self.entries[each].id for each in self.against(mark)[:1]}
        for point in POINTS:
            left = self.nobody_chose(self.changes(point))
            found |= {self.entries[left[0]].id for each in left if self._wanted(each) != self._wanted(left[0])}
        return found


def _setup(fact: Fact) -> str:
    assert isinstance(fact, Reading | MarkMade | Rechecked)
    return fact.setup


def _point(fact: Fact) -> str:
    assert isinstance(fact, Reading | TargetChanged | PointAdded)
    return fact.point


def whole(length: Length) -> int:
    """Whole inches."""
    marks = length.metres / inches(1).metres
    assert marks.denominator == 1
    return marks.numerator


def height(elevation: Elevation) -> int:
    """Whole inches above the zero."""
    return whole(elevation.height)


def at(height: int) -> Elevation:
    """So many inches above the zero."""
    return Elevation(inches(height).metres)
