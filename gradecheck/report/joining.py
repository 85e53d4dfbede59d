"""What came of joining laptops, in sentences: what waits, what two decided otherwise, how far their lasers agree."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import combinations

from gradecheck.catalogue import _, count, plural
from gradecheck.joining.history import History
from gradecheck.joining.log import InPlace, JoinedLog
from gradecheck.joining.names import called, identity
from gradecheck.journal.facts import MarkGiven, PlanRevised, SignedOff, TargetChanged, ToleranceChanged
from gradecheck.journal.stamps import day_of, on_site
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.verdict_words import Word
from gradecheck.report.log import briefly
from gradecheck.report.rows import headline
from gradecheck.state.record import RecordedFact
from gradecheck.state.signing import unseen
from gradecheck.state.state import Shot, State, Surface

MOST = 5
"""Of a kind told one by one; of more only the number is."""


def taken_lines(other: object, taken: int, found: int, not_sound: Sequence[str]) -> list[str]:
    """What was taken in of a log that held so many entries, and what was not and why."""
    return [
        _(
            "{other}: {taken} of {found} taken in.",
            other=other,
            taken=count(taken, "new entry", "new entries"),
            found=found,
        ),
        *(_("Not taken in: {entry}.", entry=each) for each in not_sound),
    ]


def joined_lines(log: JoinedLog) -> Iterator[str]:
    """All that people should look at in a log of several laptops."""
    yield from _some(_conflicts(log))
    yield from _parted(log.history)
    yield from _waiting(log.history)
    yield from _some([_("Doesn't count: no. {seq}, {briefly}; what it refers to was not known there.",
                        seq=each.seq, briefly=briefly(each))
                      for each in log.astray])  # fmt: skip
    yield from _some(
        [_("Twice under one id: {briefly}; the first counts.", briefly=briefly(each)) for each in log.doubles]
    )
    if log.history.unsound:
        yield plural(
            len(log.history.unsound),
            "Not sound: {n} entry out of number; it doesn't count.",
            "Not sound: {n} entries out of number; they don't count.",
        )


def joined_json(log: JoinedLog) -> dict[str, object]:
    """The same for other programs."""
    return {
        "conflicts": [
            {"entry": place.first.seq, "counts": briefly(place.last), "against": [*map(briefly, place.against)]}
            for place in log.conflicts
        ],
        "parted": [*_parted(log.history)],
        "waiting": len(log.history.waiting),
        "do not count": [each.seq for each in log.astray],
    }


def is_open(log: JoinedLog) -> bool:
    """Whether anything waits, or asks for an answer."""
    return bool(log.conflicts or log.history.waiting or log.history.unsound or log.astray)


# -- what one crew did not know of the other


def unseen_text(state: State, kept: RecordedFact[SignedOff]) -> str:
    """``3 readings of north crew not seen, 1 OUT``: what whoever signed did not know; empty where that is nothing."""
    late: defaultdict[str, list[Shot]] = defaultdict(list)
    for shot in unseen(state, kept):
        late[state.laptops.called(shot.seq) if state.laptops is not None else ""].append(shot)
    last = {shots[-1].id: at for at, shots in state.shots.items()}

    def is_out(shot: Shot) -> bool:
        verdict = state.judge(shot, last[shot.id]) if shot.id in last else None
        return verdict is not None and verdict.word in (Word.CUT, Word.FILL)

    parts = []
    for laptop, shots in late.items():
        out = sum(map(is_out, shots))
        parts.append(
            _(
                "{shots} of {laptop} not seen{out}",
                shots=count(len(shots), "reading"),
                laptop=laptop,
                out=_(", {out} OUT", out=out) if out else "",
            )
        )
    return "; ".join(parts)


def since_recheck_lines(state: State) -> Iterator[str]:
    """Of each laser how much was read since it was last held against a mark."""
    for setup_id in state.lasers.values():
        setup = state.setups.get(setup_id)
        read = state.readings_since_look(setup_id) if setup is not None else 0
        if setup is not None and read and state.laptops is not None and state.doubt.failed(setup_id) is None:
            laptop = state.laptops.called(setup.seq)
            yield _(
                "{laptop}: {read} since the last recheck; recheck one before packing up.",
                laptop=laptop,
                read=count(read, "reading"),
            )


def clock_behind(log: JoinedLog, seq: int) -> str:
    """``clock 4 h 2 min behind north crew's``: where an entry is timed before what its author knew, else empty."""
    digest = log.entries[seq - 1].hash if 0 < seq <= len(log.entries) else ""
    found = log.history.behind(digest) if digest else None
    return (
        _("clock {span} behind {whose}", span=_span(found[0]), whose=_whose(log, digest, found[1]))
        if found is not None
        else ""
    )


def clock_lines(log: JoinedLog, day: str | None = None) -> list[str]:
    """Which clocks are far off one another, by the entries of that day, or of all days."""
    found: defaultdict[tuple[str, str], list[tuple[timedelta, int]]] = defaultdict(list)
    for entry in log.entries:
        late = log.history.behind(entry.hash)
        if late is not None and day in (None, day_of(entry.at, entry.offset)):
            found[called(entry.laptop), _whose(log, entry.hash, late[1])].append((late[0], entry.seq))
    lines = []
    for (laptop, whose), off in found.items():
        numbers = [seq for _, seq in off]
        which = (
            _("no. {seq}", seq=numbers[0])
            if len(numbers) == 1
            else _("no. {first} to {last}", first=numbers[0], last=numbers[-1])
        )
        lines.append(
            _(
                "Clocks differ: {laptop}'s was {span} behind {whose} ({which}, {off}). Set the wrong one.",
                laptop=laptop,
                span=_span(max(off)[0]),
                whose=whose,
                which=which,
                off=count(len(off), "entry", "entries"),
            )
        )
    return lines


def _whose(log: JoinedLog, digest: str, clock: str) -> str:
    """Whose clock an entry was behind: another laptop's, or its own of before."""
    one, other = log.history.laptop_of(digest), log.history.laptop_of(clock)
    return _("itself before it was set back") if identity(one) == identity(other) else f"{called(other)}'s"


def _span(size: timedelta) -> str:
    minutes = int(size.total_seconds()) // 60
    parts = ((minutes // 1440, "d"), (minutes // 60 % 24, "h"), (minutes % 60, "min"))
    return " ".join(f"{number} {unit}" for number, unit in parts if number)


# -- how far the lasers agree


@dataclass(frozen=True, slots=True)
class ReadByBoth:
    """A point that two laptops read: the last reading of each, and by how much the second found it higher."""

    surface: Surface
    shots: tuple[Shot, Shot]
    apart: Length


@dataclass(frozen=True, slots=True)
class Lasers:
    """Two laptops' lasers held against each other at every point that both read, exactly."""

    laptops: tuple[str, str]
    points: tuple[ReadByBoth, ...]

    @property
    def mean(self) -> Length:
        """By how much the second reads higher, on the mean."""
        return Length(sum((each.apart.metres for each in self.points), ZERO.metres) / len(self.points))

    @property
    def least(self) -> Length:
        """The lowest difference; it and the highest are the spread."""
        return min(each.apart for each in self.points)

    @property
    def most(self) -> Length:
        """The highest difference."""
        return max(each.apart for each in self.points)


def lasers(state: State) -> list[Lasers]:
    """Every two laptops that read a point in common; readings in doubt or without an elevation are left out."""
    log = state.laptops
    if log is None:
        return []
    names: dict[str, str] = {}
    for entry in log.entries:  # a laptop is called what it was called last
        names[identity(entry.laptop)] = called(entry.laptop)
    found: defaultdict[tuple[str, str], list[ReadByBoth]] = defaultdict(list)
    order = list(names)
    for surface, shots in state.shots.items():
        last: dict[str, Shot] = {}
        for shot in shots:
            last[identity(log.entries[shot.seq - 1].laptop)] = shot
        for one, other in combinations(sorted(last, key=order.index), 2) if len(last) > 1 else ():
            pair = last[one], last[other]
            if any(state.in_doubt(shot) or state.verdict(surface) is None for shot in pair):
                continue
            low, high = (state.found(shot, surface) for shot in pair)
            if low is not None and high is not None and not state.is_example(surface):
                found[one, other].append(ReadByBoth(surface, pair, high.above(low)))
    in_order = sorted(found, key=lambda pair: [order.index(each) for each in pair])
    return [Lasers((names[one], names[other]), tuple(found[one, other])) for one, other in in_order]


def laser_lines(state: State, most: int = MOST) -> list[str]:
    """How far the lasers of two laptops agree on the mean, and at each point that both read."""
    units, lines = state.plan.notation.units, list[str]()
    for each in lasers(state):
        one, other = each.laptops
        points = count(len(each.points), "point")
        over = (
            _("on the mean of {points} both read", points=points)
            if len(each.points) > 1
            else _("at {points} both read", points=points)
        )
        lines.append(f"{other} {_against(each.mean, units)} {one} {over}{_spread(each, units)}.")
        both_read = sorted(each.points, key=lambda both: -abs(both.apart))
        lines += [f"  {_both(state, both, each.laptops)}" for both in both_read[:most]]
        if len(both_read) > most:
            lines.append(_("  and {number} more, none farther apart", number=len(both_read) - most))
    return lines


def _against(mean: Length, units: Units) -> str:
    if not mean:
        return _("reads the same as")
    return _(
        "reads {length} {mean} than",
        length=show_exact(abs(mean), units, unit=True),
        mean=_("higher") if mean > ZERO else _("lower"),
    )


def _spread(each: Lasers, units: Units) -> str:
    if len(each.points) < 2:
        return ""
    low, high = (show_exact(size, units, unit=True) for size in (each.least, each.most))
    return _(", each from {low} to {high}; what was dug in between counts in", low=low, high=high)


def _both(state: State, both: ReadByBoth, laptops: Sequence[str]) -> str:
    units, area = state.plan.notation.units, f"{both.surface.area}, " if len(state.plan.areas) > 1 else ""
    said = []
    for shot, laptop in zip(both.shots, laptops, strict=True):
        verdict = state.judge(shot, both.surface)
        word = headline(verdict, state.plan.notation) if verdict is not None else _("not judged")
        said.append(f"{laptop} {word}, {shot.by} {on_site(shot.at, shot.offset):%H:%M}")
    apart = _("{length} apart", length=show_exact(abs(both.apart), units, unit=True)) if both.apart else _("the same")
    return f"{area}{both.surface.point} {both.surface.stage}: {'; '.join(said)}: {apart}"


def _some(lines: list[str]) -> Iterator[str]:
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield _("... and {left} more.", left=len(lines) - MOST)


def _conflicts(log: JoinedLog) -> list[str]:
    return [
        _(
            "Conflict at no. {seq}: {briefly} ({called}) counts for now, against {against}. {how_to_answer}",
            seq=place.first.seq,
            briefly=briefly(place.last),
            called=called(place.last.laptop),
            against="; ".join(f"{briefly(each)} ({called(each.laptop)})" for each in place.against),
            how_to_answer=_how_to_answer(place),
        )
        for place in log.conflicts
    ]


def _how_to_answer(place: InPlace) -> str:
    """What whoever knows both does about it."""
    match place.last.fact:
        case PlanRevised():
            return _("To answer, accept the right one again (Plan, Ctrl+Y).")
        case TargetChanged() | ToleranceChanged():
            return _("To answer, change it once more (Plan).")
        case MarkGiven(mark=mark):
            return _("To answer, correct {mark} once more; setups on it are in doubt until then.", mark=mark)
        case _:
            return _("To answer, correct or strike no. {seq} (Log, F6).", seq=place.first.seq)


def _parted(history: History) -> Iterator[str]:
    """Laptops that went on twice from one entry: nothing is lost, and people should know."""
    for sides in history.forks:
        names = {identity(history.link(each).laptop): history.link(each).laptop for each in sides}
        for which, often in Counter(identity(history.link(each).laptop) for each in sides).items():
            if often > 1:
                number = min(history.link(each).number for each in sides) - 1
                yield (
                    _(
                        "{called} went on {often} from its entry {number}: an older copy was put back, or "
                        "its disk was copied. All of it is kept.",
                        called=called(names[which]),
                        often=_("twice") if often == 2 else _("{n} times", n=often),
                        number=number,
                    )
                )


def _waiting(history: History) -> Iterator[str]:
    of = Counter(called(history.laptop_of(digest)) for digest in history.waiting)
    for laptop, entries in of.items():
        yield plural(
            entries,
            "{n} entry of {laptop} waits for entries that are not here yet; join the laptop that has them.",
            "{n} entries of {laptop} wait for entries that are not here yet; join the laptop that has them.",
            laptop=laptop,
        )
