"""A small job, and how to draw the facts, drafts and whole journals that people on it could leave behind."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from datetime import timedelta
from fractions import Fraction

from hypothesis import strategies as st

from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    CautionsRead,
    Compacted,
    DatumChosen,
    DayDescribed,
    DoubtAnswered,
    Draft,
    Entry,
    Fact,
    Gauged,
    InstrumentMoved,
    InstrumentTested,
    Judged,
    Late,
    MarkGiven,
    MarkMade,
    Note,
    PlanRevised,
    PointAdded,
    Reading,
    Rechecked,
    Rehearsed,
    SetupMade,
    SignedOff,
    Taped,
    TargetChanged,
    ToleranceChanged,
    Undercut,
    Void,
)
from gradecheck.measure.quantities import Elevation, Length, Slope, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.instrument import chain_line, mark_line
from gradecheck.state.state import State, Surface
from tests.journal.drafts import FIRST_MOMENT, draft
from tests.strategies import elevations, lengths, ratios

JOB = """\
job: Wickering Yard, front walk
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
  hand rod: {kind: direct, graduation: 1/16 in}
instrument: {beam: 15 arcsec, receiver: 1/16 in, longest shot: 200 ft}
rechecks: {readings: 4, minutes: 60, allowed: 1/8 in}
benchmarks:
  DOOR: {elevation: 0, what: threshold, at: [0 ft, 0 ft]}
  KERB: {elevation: -4 in}
datums:
  street: {mark: LID, reads: 100 ft}
build-ups:
  walk: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
tolerances:
  subgrade: {high: 1/2 in, low: 3/4 in}
  base: 3/8 in
  bedding: 1/4 in
  finish: 1/8 in
areas:
  walk:
    build-up: walk
    points:
      W1: {elevation: -1/2 in, at: [4 ft, 0 ft]}
      W2: {from: W1, fall: 1/4 in/ft, over: 6 ft, at: [10 ft, 0 ft]}
      W3: {from: W2, down: 1, riser: 6 in}
  court:
    points:
      C1: -3 in
      C2: -3 1/4 in
  verge:
    datum: street
    points:
      V1: 99 ft
"""
"""Two areas datum the door, and one from a lid in the street that must be tied first."""

PLAN = read_plan(JOB, "job.yaml")
SURFACES = (
    *(("walk", point, stage) for point in ("W1", "W2", "W3") for stage in ("subgrade", "base", "bedding", "finish")),
    ("court", "C1", "finish"),
    ("court", "C2", "finish"),
    ("verge", "V1", "finish"),
)


def sixteenths(count: int) -> Length:
    """A length of so many marks of the site rod."""
    return inches(Fraction(count, 16))


# -- any value of every kind of fact, sense or nonsense: what the file must give back as it was

texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=40)
slopes = ratios.map(Slope)
places = st.tuples(lengths, lengths)
moments = st.integers(0, 50 * 366 * 86_400_000_000).map(lambda passed: FIRST_MOMENT + timedelta(microseconds=passed))
_backsights = st.builds(Backsight, mark=texts, rod=lengths, elevation=elevations)
_judged = st.builds(
    Judged, found=elevations, wanted=elevations, high=lengths, low=lengths, word=st.sampled_from(Word)
)
_perhaps_text = st.none() | texts
ANY_FACT: dict[str, st.SearchStrategy[Fact]] = {
    "plan": st.builds(PlanRevised, digest=texts, text=texts, files=st.dictionaries(texts, texts, max_size=2)),
    "point added": st.builds(
        PointAdded, area=texts, point=texts, finish=elevations, working=texts, what=texts, at=st.none()
    ),
    "target": st.builds(TargetChanged, area=texts, point=texts, finish=elevations, why=texts),
    "taped": st.builds(Taped, layout=texts, start=texts, end=texts, length=lengths, wanted=lengths),
    "gauged": st.builds(
        Gauged, kind=st.sampled_from(("lippage", "above drain")), area=texts, where=texts, length=lengths
    ),
    "signed off": st.builds(
        SignedOff,
        area=texts,
        stage=texts,
        accepted=st.lists(texts, max_size=2).map(tuple),
        unread=st.lists(texts, max_size=2).map(tuple),
        remark=texts,
        asked=st.lists(texts, max_size=2).map(tuple),
    ),
    "day": st.builds(DayDescribed, weather=texts, crew=texts),
    "rehearsal": st.builds(Rehearsed, seed=st.integers(0, 99)),
    "tolerance": st.builds(ToleranceChanged, area=texts, stage=texts, high=lengths, low=lengths, why=texts),
    "cautions": st.builds(CautionsRead, cautions=st.lists(texts, max_size=3).map(tuple)),
    "moved": st.builds(InstrumentMoved, why=texts),
    "backsight": st.builds(
        BacksightTaken, rod=texts, sight=_backsights, slopes=st.none() | st.tuples(slopes, slopes)
    ),
    "set-up": st.builds(
        SetupMade,
        rod=texts,
        backsights=st.lists(_backsights, max_size=3).map(tuple),
        slopes=st.none() | st.tuples(slopes, slopes),
        place=st.none() | places,
    ),
    "mark": st.builds(
        MarkMade, mark=texts, what=texts, setup=texts, rod=lengths, at=st.none() | places, reading=_perhaps_text
    ),
    "mark given": st.builds(MarkGiven, mark=texts, elevation=elevations, moved=st.booleans(), why=texts),
    "recheck": st.builds(Rechecked, setup=texts, mark=texts, rod=lengths, off=lengths, good=st.booleans()),
    "doubt": st.builds(DoubtAnswered, readings=st.lists(texts, max_size=3).map(tuple), why=texts),
    "datum": st.builds(DatumChosen, datum=_perhaps_text),
    "test": st.builds(
        InstrumentTested,
        test=texts,
        figures=st.lists(texts, max_size=3).map(tuple),
        slope_error=slopes,
        within=st.none() | st.booleans(),
    ),
    "reading": st.builds(
        Reading, area=texts, point=texts, stage=texts, setup=texts, rod=lengths, judged=_judged, question=texts
    ),
    "note": st.builds(Note, area=_perhaps_text, text=texts, above=st.none() | lengths),
    "void": st.builds(Void, why=texts),
}
"""How to draw each kind, by the name it goes by in the file."""


@st.composite
def drafts(draw: st.DrawFn, kind: str | None = None) -> Draft:
    """A draft of that kind, or of any."""
    return Draft(
        id=draw(st.uuids()).hex,
        laptop=draw(texts),
        window=draw(texts),
        by=draw(texts),
        typed=draw(texts),
        at=draw(moments),
        offset=draw(st.integers(-14 * 60, 14 * 60)),
        version=draw(texts),
        plan=draw(texts),
        fact=draw(ANY_FACT[kind or draw(st.sampled_from(sorted(ANY_FACT)))]),
        replaces=draw(st.none() | texts),
    )


# -- a journal written by hand, in memory


@dataclasses.dataclass
class Site:
    """The entries of a day that a test makes up one by one."""

    plan: Plan
    entries: list[Entry] = dataclasses.field(default_factory=list)

    def add(self, fact: Fact, replaces: str | None = None, minutes: int = 0) -> Entry:
        """The next entry."""
        seq = len(self.entries) + 1
        made = draft(fact, f"entry {seq}", replaces=replaces, minutes=minutes)
        fields = {field.name: getattr(made, field.name) for field in dataclasses.fields(made)}
        self.entries.append(Entry(**fields, seq=seq, hash=""))
        return self.entries[-1]

    def set_up(self, mark: str, rod_reads: Length, *, rod: str = "site rod") -> Entry:
        """The instrument stands, and the rod on that mark reads that."""
        return self.add(SetupMade(rod, (Backsight(mark, rod_reads, Elevation(Fraction(0))),)))

    def read(self, surface: tuple[str, str, str], rod: Length, setup: Entry | None = None) -> Entry:
        """The rod reads that at a surface, seen from that setup, or from the last one."""
        stood = setup or [entry for entry in self.entries if isinstance(entry.fact, SetupMade)][-1]
        judged = Judged(Elevation(Fraction(0)), Elevation(Fraction(0)), inches(1), inches(1), Word.ON_GRADE)
        return self.add(Reading(*surface, stood.id, rod, judged))

    def mark(self, name: str, rod: Length, setup: Entry, reading: Entry | None = None) -> Entry:
        """A spot, or the point that was read, becomes a mark."""
        return self.add(MarkMade(name, "", setup.id, rod, None, reading.id if reading else None))


def everything_known(state: State) -> dict[str, object]:
    """All that can be asked of a state, in an order that does not depend on how it came about."""
    plan = state.plan
    surfaces = sorted({*(Surface(*each) for each in SURFACES), *state.shots})
    stages = [(area.name, stage) for area in plan.areas.values() for stage in area.stages]
    marks = sorted(state.book.marks())
    newest, stood = state.newest_setup, state.setup
    return {
        "shots": state.shots,
        "found": {surface: [state.found(shot, surface) for shot in shots] for surface, shots in state.shots.items()},
        "verdicts": {surface: state.verdict(surface) for surface in surfaces},
        "targets": {surface: state.target(surface) for surface in surfaces},
        "sure": {
            s: [state.uncertainty(shot.setup, shot.rod, s) for shot in shots] for s, shots in state.shots.items()
        },
        "setups": {name: (each, each.instrument) for name, each in state.setups.items()},
        "newest": newest and newest.id,
        "standing": stood and stood.id,
        "moved": bool(state.moved_since(newest.seq)) if newest else None,
        "looked": {name: state.looked(name) for name in state.setups},
        "since": {name: state.readings_since_look(name) for name in state.setups},
        "sights": state.sights,
        "checked": {key: state.checked(*key) for key in stages},
        "next": {key: [state.next_unchecked(*key, after) for after in range(2)] for key in stages},
        "marks": [(state.mark(name), mark_line(state, name), chain_line(state, name)) for name in marks],
        "doubts": state.doubts(),
        "datum": (state.datum, state.shown(Elevation(Fraction(1)))),
        "plan": state.plan_digest,
        "cautions": state.cautions,
        "problems": sorted(state.problems()),
    }


# -- what could happen on that job, with ids that mean something or nothing

NOBODY = "nobody"
"""An id that no entry has."""
_rods_read = st.integers(-3, 3).map(lambda count: sixteenths(48 * 16 + count)) | st.integers(-40, 900).map(sixteenths)
_moments = st.integers(-60, 600).map(lambda each: (FIRST_MOMENT + timedelta(minutes=each)).isoformat()) | (
    st.sampled_from(["", "10:05", "2031-04-07T10:05", "9999-12-31T23:59-18:00", "1970-01-01T00:00+00:00"])
)
"""When a reading that was entered late was taken; another program may have written anything."""
_small = st.integers(-16, 16).map(sixteenths)


@dataclasses.dataclass
class _Day:
    """The entries so far, and the draws that refer back to them: to what makes sense mostly, to anything at times."""

    draw: st.DrawFn
    site: Site
    surfaces: Sequence[tuple[str, str, str]] = ()

    def __post_init__(self) -> None:
        # Few of them, so that the same one is read again and again.
        odd = (*SURFACES, ("walk", "W9", "base"), ("pond", "P1", "finish"))
        self.surfaces = self.draw(st.lists(st.sampled_from(odd), min_size=1, max_size=3))

    @property
    def entries(self) -> list[Entry]:
        return self.site.entries

    def mostly(self, usual: Sequence[str], odd: Sequence[str]) -> str:
        return self.draw(st.sampled_from(odd if not usual or self.draw(st.integers(0, 7)) == 7 else usual))

    def some_id(self, *kinds: type[Fact]) -> str:
        ids = [entry.id for entry in self.entries if isinstance(entry.fact, kinds)]
        return self.mostly([*ids, *ids[-1:] * len(ids)], [NOBODY])

    def backsight(self) -> Backsight:
        mark = self.mostly(("DOOR", "KERB", "TP1"), ("LID", "W1", "LOST"))
        return Backsight(mark, self.draw(_rods_read), Elevation(Fraction(0)))

    def set_up(self) -> Fact:
        sights = tuple(self.backsight() for _ in range(self.draw(st.sampled_from((1, 1, 1, 1, 1, 2, 3, 0)))))
        slopes = (Slope(Fraction(1, 50)), Slope(Fraction(-1, 100))) if self.draw(st.integers(0, 9)) == 9 else None
        return SetupMade(self.mostly(("site rod",), ("hand rod", "lost rod")), sights, slopes)

    def reading(self) -> Fact:
        judged = Judged(Elevation(Fraction(0)), Elevation(Fraction(0)), inches(1), inches(1), Word.ON_GRADE)
        surface = self.draw(st.sampled_from(self.surfaces))
        above = self.draw(st.none() | st.none() | _small)
        late = (
            Late(self.draw(_moments), "TZ", self.draw(st.integers(-1, 12)))
            if self.draw(st.integers(0, 3)) == 0
            else None
        )
        return Reading(*surface, self.some_id(SetupMade), self.draw(_rods_read), judged, above=above, late=late)

    def mark(self) -> Fact:
        name = self.draw(st.sampled_from(("TP1", "LID", "W1")))
        reading = self.some_id(Reading) if self.draw(st.booleans()) else None
        return MarkMade(name, "", self.some_id(SetupMade), self.draw(_rods_read), None, reading)

    def mark_given(self) -> Fact:
        mark = self.draw(st.sampled_from(("KERB", "TP1")))
        return MarkGiven(mark, Elevation(self.draw(_small).metres), self.draw(st.booleans()), "seen")

    def recheck(self) -> Fact:
        mark = self.mostly(("DOOR", "TP1"), ("LID", "W1", "LOST"))
        return Rechecked(self.some_id(SetupMade), mark, self.draw(_rods_read), inches(0), True)

    def fact(self) -> Fact:
        makers: list[Callable[[], Fact]] = [
            self.reading,
            self.reading,
            self.reading,
            self.set_up,
            self.set_up,
            self.mark,
            self.mark,
            self.mark_given,
            self.recheck,
            self.recheck,
            lambda: BacksightTaken("site rod", self.backsight()),
            lambda: InstrumentMoved("knocked"),
            lambda: DoubtAnswered((self.some_id(Reading), self.some_id(Reading)), "looked again"),
            lambda: DatumChosen(self.draw(st.sampled_from((None, "street", "moon")))),
            lambda: InstrumentTested("two pegs", (), Slope(Fraction(self.draw(st.integers(-9, 9)), 10_000)), None),
            lambda: CautionsRead(("one",)),
            lambda: Note("walk", "rain"),
            lambda: Note("walk", "base compacted, 4 passes", compacted=Compacted("base", 4)),
            lambda: Note("walk", "undercut 6 in ordered", undercut=Undercut("", inches(6), "the engineer")),
            lambda: Note("walk", "hold point base gone past, not signed: rain", past_hold="base"),
            lambda: PlanRevised("digest", JOB),
            lambda: PointAdded("walk", f"N{self.draw(st.integers(1, 3))}", Elevation(Fraction(-1, 100)), "as given"),
            lambda: TargetChanged("walk", "W1", Elevation(Fraction(-1, 50)), "a pipe"),
            lambda: ToleranceChanged("walk", "base", Length(Fraction(1, 99)), Length(Fraction(1, 99)), "agreed"),
        ]
        return self.draw(st.sampled_from(makers))()

    def add(self, fact: Fact, replaces: str | None = None) -> None:
        # The clock may go back; the place in the journal is the order of truth.
        self.site.add(fact, replaces, self.draw(st.integers(0, 600)))


def corrected(fact: Fact, rod: Length) -> Fact | None:
    """The same fact with another rod figure, None where it holds none that can be put right."""
    match fact:
        case Reading() | MarkMade(reading=None):
            return dataclasses.replace(fact, rod=rod)
        case SetupMade(backsights=(first, *rest)):
            return dataclasses.replace(fact, backsights=(dataclasses.replace(first, rod=rod), *rest))
        case _:
            return None


def standing_ids(entries: Sequence[Entry]) -> list[str]:
    """The ids of the entries that no other has taken the place of."""
    replaced = {entry.replaces for entry in entries}
    return [entry.id for entry in entries if entry.id not in replaced]


@st.composite
def days(draw: st.DrawFn, most: int = 30) -> list[Entry]:
    """A journal as the program can leave it: facts, rod figures corrected, and anything struck but the plan."""
    day = _Day(draw, Site(PLAN))
    for _ in range(draw(st.integers(0, most))):
        open_to_change = [
            entry
            for entry in day.entries
            if entry.id in standing_ids(day.entries) and not isinstance(entry.fact, Void | PlanRevised)
        ]
        change = draw(st.sampled_from(("add", "add", "add", "strike", "correct"))) if open_to_change else "add"
        if change == "add":
            day.add(day.fact())
            continue
        with_figures = [entry for entry in open_to_change if corrected(entry.fact, inches(0))]
        old = draw(st.sampled_from((change == "correct" and with_figures) or open_to_change))
        new = corrected(old.fact, draw(_rods_read)) if change == "correct" else None
        day.add(new or Void("keyed twice"), replaces=old.id)
    return day.entries


@st.composite
def nonsense(draw: st.DrawFn, most: int = 20) -> list[Entry]:
    """Entries in any order, where anything may stand in the place of anything, also of what was never there."""
    day = _Day(draw, Site(PLAN))
    for _ in range(draw(st.integers(0, most))):
        replaces = day.some_id() if draw(st.integers(0, 2)) == 0 else None
        fact = Void("no reason") if draw(st.integers(0, 4)) == 0 else day.fact()
        day.add(fact, replaces)
    return draw(st.permutations(day.entries)) if draw(st.booleans()) else day.entries
