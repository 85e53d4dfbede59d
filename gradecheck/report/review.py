"""The review of a day or of the whole job: per area and stage what was checked, what is out, what is still open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from gradecheck.catalogue import _, count, stage_word
from gradecheck.checks.trend import Bias, SeenHeight, biases
from gradecheck.checks.verdict import Verdict
from gradecheck.journal.facts import Reading, Rechecked, SignedOff, Void
from gradecheck.journal.stamps import day_of, on_site
from gradecheck.journal.store import LogLine
from gradecheck.measure.judged import judged_reading
from gradecheck.measure.printed import some
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area
from gradecheck.report.dates import day_and_month
from gradecheck.report.instrument import setup_disagrees
from gradecheck.report.rows import headline, show_exact_to
from gradecheck.state.built import exceptions
from gradecheck.state.record import RecordedFact
from gradecheck.state.signing import has_changed, signed_without
from gradecheck.state.state import Shot, State, Surface


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the review is about; None takes all. `day` is ``2026-05-12`` by the clock on site."""

    day: str | None = None
    area: str | None = None
    stage: str | None = None
    by: str | None = None

    def takes(self, at: datetime, offset: int, by: str) -> bool:
        """Whether something recorded then by that person is chosen."""
        return self.day in (None, day_of(at, offset)) and self.by in (None, by)


@dataclass(frozen=True, slots=True)
class StageRow:
    """One stage of one area; `worst` names the point farthest off. All counts are of points but the last two."""

    area: str
    stage: str
    points: int
    read: int
    within: int
    cut: int
    fill: int
    undecided: int
    doubt: int
    worst: str
    questioned: int
    voided: int
    signed: str

    @property
    def not_judged(self) -> int:
        """Points that were read and have no verdict: their setup was struck, or their target is an example."""
        return self.read - self.within - self.cut - self.fill - self.undecided - self.doubt


def stage_rows(state: State, lines: Sequence[LogLine], chosen: Chosen) -> list[StageRow]:
    """A row for every stage at which something chosen was read, in the plan's order."""
    rows, counts = [], _counts(lines, chosen)
    for area in state.plan.areas.values():
        for stage in area.stages:
            if chosen.area in (None, area.name) and chosen.stage in (None, stage):
                row = _row(state, area, stage, counts, chosen)
                if row.read or row.voided:
                    rows.append(row)
    return rows


def _row(state: State, area: Area, stage: str, counts: Counts, chosen: Chosen) -> StageRow:
    judged: list[tuple[str, Shot, Verdict | None]] = []
    for point in area.points:
        surface = Surface(area.name, point.name, stage)
        shot = state.latest(surface)
        if shot is not None and chosen.takes(shot.at, shot.offset, shot.by):
            judged.append((point.name, shot, state.verdict(surface)))
    words = [verdict.word for _, shot, verdict in judged if verdict and not state.in_doubt(shot)]
    worst = max(
        ((name, verdict) for name, _, verdict in judged if verdict and verdict.word in (Word.CUT, Word.FILL)),
        key=lambda each: abs(each[1].difference),
        default=None,
    )
    return StageRow(
        area=area.name,
        stage=stage,
        points=len(area.points),
        read=len(judged),
        within=words.count(Word.ON_GRADE),
        cut=words.count(Word.CUT),
        fill=words.count(Word.FILL),
        undecided=words.count(Word.TOO_CLOSE),
        doubt=sum(1 for _, shot, _ in judged if state.in_doubt(shot)),
        worst=f"{worst[0]} {headline(worst[1], state.plan.notation)}" if worst else "",
        questioned=counts[0][area.name, stage],
        voided=counts[1][area.name, stage],
        signed=signed_text(state, area.name, stage),
    )


Counts = tuple[Counter[tuple[str, str]], Counter[tuple[str, str]]]


def _counts(lines: Sequence[LogLine], chosen: Chosen) -> Counts:
    """Of each area and stage, how many chosen readings were questioned, and how many struck."""
    questioned, voided = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    by_id = {line.entry.id: line.entry for line in lines}
    for line in lines:
        entry = line.entry
        if not isinstance(entry.fact, Reading | Void) or not chosen.takes(entry.at, entry.offset, entry.by):
            continue
        match entry.fact:
            case Reading() as fact if entry.replaces is None:  # asked once, however often it was corrected
                questioned[fact.area, fact.stage] += bool(fact.question)
            case Void() if entry.replaces in by_id and isinstance(struck := by_id[entry.replaces].fact, Reading):
                voided[struck.area, struck.stage] += 1
            case _:
                pass
    return questioned, voided


# -- sign-off


def signed_text(state: State, area: str, stage: str) -> str:
    """``RK 25 Nov``, with what has changed since; empty where nobody signed."""
    kept = state.record.signed(area, stage)
    if kept is None:
        return ""
    at = on_site(kept.at, kept.offset)
    when = f"{day_and_month(at)} {at:%H:%M}"
    who = state.who(kept.seq, kept.by)
    if text := _unseen(state, kept):
        return f"{who} {when}, {OPEN_AGAIN}: {text}"
    changed = _(", changed since") if has_changed(state, kept) else ""
    return f"{who} {when}{changed}"


OPEN_AGAIN = _("open again")
"""Said of a stage that was signed off by someone who did not know all that was read there by then."""


def _unseen(state: State, kept: RecordedFact[SignedOff]) -> str:
    """What whoever signed did not know of other laptops; empty where that is nothing."""
    if state.laptops is None:
        return ""
    from gradecheck.report.joining import unseen_text  # few jobs have several laptops

    return unseen_text(state, kept)


# -- what is still open


def still_open(state: State) -> list[str]:
    """What should be seen to before tomorrow, a sentence each."""
    says = []
    if wrong := setup_disagrees(state, state.newest_setup):
        says.append(_("{wrong}. Set up again.", wrong=wrong))
    doubts = state.doubts()
    if doubts:
        names = some([f"{surface.point} {surface.stage}" for surface, _ in doubts], 6)
        says.append(_("In doubt: {names}. Read them again, or say why they can be trusted.", names=names))
    setup = state.setup if state.laptops is None else None
    if setup is not None and state.readings_since_look(setup.id):
        readings = count(state.readings_since_look(setup.id), "reading")
        says.append(_("{readings} since the last recheck; recheck one before packing up.", readings=readings))
    says += [line for area in state.plan.areas.values() if (line := _open_area(state, area))]
    says += [line for area in state.plan.areas.values() for line in hold_lines(state, area)]
    if state.laptops is not None:
        from gradecheck.report.joining import joined_lines, since_recheck_lines  # few jobs have several laptops

        says += [*since_recheck_lines(state), *joined_lines(state.laptops)]
    return says


def hold_lines(state: State, area: Area) -> Iterator[str]:
    """The hold points of an area that were gone past without a signature, and those read that nobody signed yet."""
    for hold in area.holds:
        if state.record.signed(area.name, hold) is not None:
            continue
        passed = state.record.gone_past(area.name, hold)
        if passed is not None:
            yield _(
                "{area}, {hold}: HOLD POINT GONE PAST without a signature, {by}: {why}",
                area=area.name,
                hold=hold,
                by=state.who(passed.seq, passed.by),
                why=passed.fact.text.partition(": ")[2],
            )
        elif state.checked(area.name, hold):
            yield _("{area}, {hold}: hold point, not signed yet.", area=area.name, hold=hold)


def laptop_lines(state: State, day: str | None = None) -> list[str]:
    """How far the lasers of several laptops agree, and which clocks differ that day; nothing in a job of one."""
    if state.laptops is None:
        return []
    from gradecheck.report.joining import clock_lines, laser_lines

    return [*laser_lines(state), *clock_lines(state.laptops, day)]


def _open_area(state: State, area: Area) -> str:
    """What is open in an area in one line: what is wrong stage by stage, what was not read, what is not signed."""
    wrong, unsigned = [], []
    read = [place for place, stage in enumerate(area.stages) if state.checked(area.name, stage)]
    for stage in (area.stages[place] for place in read):
        kept = state.record.signed(area.name, stage)
        if kept is not None:
            if text := _unseen(state, kept):
                wrong.append(
                    _(
                        "{stage} {open_again}, signed by {who}: {text}",
                        stage=stage,
                        open_again=OPEN_AGAIN,
                        who=state.who(kept.seq, kept.by),
                        text=text,
                    )
                )
            elif has_changed(state, kept):
                wrong.append(_("{stage} changed since {by} signed it", stage=stage, by=kept.by))
            continue
        unsigned.append(stage)
        wrong += [f"{stage_word(stage)} {', '.join(parts)}"] if (parts := _exceptions(state, area, stage)) else []
    top, without = max(read, default=-1), signed_without(state, area.name)
    covered = [stage for place, stage in enumerate(area.stages[: max(top, 0)]) if place not in read]
    covered = [stage for stage in covered if stage not in without]
    groups = ((covered, _("not read")), (area.stages[top + 1 :], _("not begun")), (unsigned, _("not signed")))
    parts = [*wrong, *(f"{', '.join(map(stage_word, stages))} {how}" for stages, how in groups if stages)]
    good = [_("all read is on grade")] if unsigned and not wrong else []
    return f"{area.name}: {'; '.join([*good, *parts])}." if parts else ""


def open_lines(state: State) -> list[str]:
    """What is still open, under its heading; that nothing was read yet is another thing than that nothing is open."""
    nothing = [] if state.shots else [_("Nothing was read yet.")]
    if left := still_open(state):
        return [*nothing, _("Still open:"), *(f"  {each}" for each in left)]
    return nothing or [_("Nothing is open.")]


def _exceptions(state: State, area: Area, stage: str) -> list[str]:
    out, unread, doubtful, unjudged = exceptions(state, area.name, stage)
    parts = (
        [
            _(
                "{number} of {points} not read ({names})",
                number=len(unread),
                points=len(area.points),
                names=some(unread, 5),
            )
        ]
        if unread
        else []
    )
    counts = ((out, _("not on grade")), (doubtful, _("in doubt")), (unjudged, _("can't be judged")))
    return parts + [f"{len(names)} {how} ({some(names, 5)})" for names, how in counts if names]


def rechecks_line(state: State, lines: Sequence[LogLine], chosen: Chosen) -> str:
    """How often marks were rechecked, how often that failed, and the largest misclosure; empty without one."""
    looks = [
        line.entry.fact
        for line in lines
        if isinstance(line.entry.fact, Rechecked)
        and line.replaced_by is None
        and chosen.takes(line.entry.at, line.entry.offset, line.entry.by)
    ]
    if not looks:
        return ""
    worst = max(looks, key=lambda look: abs(look.off))
    failed = sum(1 for look in looks if not look.good)
    off = judged_reading(worst.off, state.plan.rechecks.allowed, state.plan.notation, plus=True).found
    return _(
        "Benchmark rechecks: {looks}, {failed} failed; the largest misclosure {off} on {mark}.",
        looks=len(looks),
        failed=failed or _("none"),
        off=off,
        mark=worst.mark,
    )


# -- trend

LOOKS_A_STEP = 4_000
"""Looks judged between two words of how far it is: some 0.2 s, measured."""


def trend(state: State) -> list[Bias]:
    """How persons, rods and setups compare at points on grade at every look, where nothing was dug between."""
    return biases(look for surface in state.shots for look in _seen(state, surface))


def _seen(state: State, surface: Surface) -> Iterator[SeenHeight]:
    """The looks at one point that tell of a bias."""
    if len(state.shots[surface]) < 2:
        return
    for shot, z in state.looks_on_grade(surface):
        setup = state.setups.get(shot.setup)
        if setup is not None and not state.in_doubt(shot):
            yield SeenHeight("/".join(surface), z, shot.by, setup.fact.rod, _("setup {seq}", seq=setup.seq))


def trend_lines(state: State) -> list[str]:
    """The same in words."""
    return _trend_lines(state, trend(state))


def _trend_lines(state: State, found: Sequence[Bias]) -> list[str]:
    return [
        _(
            "{kind} {name}: reads {length} {way}, mean of {count}",
            kind=bias.kind,
            name=bias.name.removeprefix(_("setup {seq}", seq="")),
            length=show_exact_to(abs(bias.mean), state.plan.notation),
            way=_("high") if bias.mean.metres > 0 else _("low"),
            count=bias.count,
        )
        for bias in found
        if bias.mean
    ]


def trend_in_steps(state: State) -> Generator[str, None, list[str]]:
    """The same, told how far it is after each so many looks; nothing may be recorded between two steps."""
    looks, done, since = list[SeenHeight](), 0, 0
    surfaces = list(state.shots)
    for surface in surfaces:
        done, since = done + 1, since + len(state.shots[surface])
        looks += _seen(state, surface)
        if since > LOOKS_A_STEP:
            since = 0
            yield _("{done} of {surfaces}", done=done, surfaces=len(surfaces))
    return _trend_lines(state, biases(looks))


# -- a stage at the end of its route

COUNTED_AT_ONCE = 300
"""Points of an area that are all judged between two readings: some 20 ms, measured."""


def all_checked(state: State, area: Area, stage: str) -> str:
    """That every point of the stage was read, and how many of them are not as they should be."""
    says = _("All {points} checked at {stage}", points=len(area.points), stage=stage)
    if len(area.points) > COUNTED_AT_ONCE:
        return _("{says}; F9 shows what is out", says=says)
    out, _unread, doubtful, unjudged = exceptions(state, area.name, stage)
    off = ((out, "out"), (doubtful, _("in doubt")), (unjudged, _("not judged")))
    return "".join([says, *(f", {len(names)} {how}" for names, how in off if names)])
