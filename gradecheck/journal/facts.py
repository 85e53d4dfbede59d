"""The facts a journal can hold: what a person did or saw, in the past tense, with the exact values."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import Literal, NamedTuple

from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope
from gradecheck.measure.verdict_words import Word


@dataclass(frozen=True, slots=True)
class PlanRevised:
    """From here on the job is judged by this text of its job file, and of the lists that it names.

    `number` is the one that the office gave the plan, where it did.
    """

    digest: str
    text: str
    files: dict[str, str] = field(default_factory=dict)
    number: int | None = None


@dataclass(frozen=True, slots=True)
class CautionsRead:
    """The day's cautions were shown, and this person said they were read."""

    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Backsight:
    """A rod reading on a mark; `elevation` is what the mark was taken to be at the time, as evidence."""

    mark: str
    rod: Length
    elevation: Elevation


@dataclass(frozen=True, slots=True)
class InstrumentMoved:
    """The laser was moved or disturbed; until it is set up again nothing is read."""

    why: str


@dataclass(frozen=True, slots=True)
class BacksightTaken:
    """While the instrument is being set up, the rod was read on a mark; the setup that follows sums them up.

    `slopes` are the falls along x and y of a beam set to grade.
    """

    rod: str
    sight: Backsight
    slopes: FallXY | None = None


@dataclass(frozen=True, slots=True)
class SetupMade:
    """The laser was set up: these backsights, read on this rod, fix its height.

    `slopes` are the falls along x and y of a beam set to grade, `place` is where the instrument stands. `why` is the
    reason given for using it though its marks disagree.
    """

    rod: str
    backsights: tuple[Backsight, ...]
    slopes: FallXY | None = None
    place: Place | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class MarkMade:
    """A spot was made a mark, seen from that setup: a turning point, or a temporary benchmark that stays.

    `reading` is the id of the reading whose point was made a mark, where it was one.
    """

    mark: str
    what: str
    setup: str
    rod: Length
    at: Place | None = None
    reading: str | None = None


@dataclass(frozen=True, slots=True)
class MarkGiven:
    """A mark's elevation was corrected: as it always was, or (`moved`) as it is from now on."""

    mark: str
    elevation: Elevation
    moved: bool
    why: str


@dataclass(frozen=True, slots=True)
class Rechecked:
    """A mark was rechecked from the setup; `off` and `good` are what that meant at the time, as evidence."""

    setup: str
    mark: str
    rod: Length
    off: Length
    good: bool


@dataclass(frozen=True, slots=True)
class DoubtAnswered:
    """These readings, and marks made by sights, were in doubt and are trusted all the same, for that reason."""

    readings: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class DatumChosen:
    """From here on elevations are shown from that datum; None is the job's own zero."""

    datum: str | None


@dataclass(frozen=True, slots=True)
class InstrumentTested:
    """The instrument was tested; `figures` are what was entered, `slope_error` the beam's rise over its run."""

    test: str
    figures: tuple[str, ...]
    slope_error: Slope
    within: bool | None


@dataclass(frozen=True, slots=True)
class Judged:
    """What a reading was held against when it was taken, as evidence; today's judgment is computed anew."""

    found: Elevation
    wanted: Elevation
    high: Length
    low: Length
    word: Word


@dataclass(frozen=True, slots=True)
class Late:
    """A reading came from paper and was entered later: when it was taken, by whom, and behind which entry.

    `at` is what the clock on site showed, as ISO 8601 with its offset from UTC; `after` is the number of the last
    entry that had been made by then, 0 where there was none.
    """

    at: str
    by: str
    after: int


@dataclass(frozen=True, slots=True)
class Between:
    """A spot on a string from one point straight to another: `along` from the first, or a `share` of the way.

    A share is from 0 to 1; `run` is how long the string was said to be, None where the plan says.
    """

    start: str
    end: str
    along: Length | None = None
    run: Length | None = None
    share: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """The rod was read at a point, at a stage, from the setup with that id.

    `question` is what was asked before it was kept, where the figure looked like a slip. `above` is the working
    offset: how far above its target the string, form or stake was to stand that the rod was held on, below it where
    that is negative. `late` tells of one that was entered later. `between` tells of a spot on a string, which has no
    name of its own: there `point` is the spot in words.
    """

    area: str
    point: str
    stage: str
    setup: str
    rod: Length
    judged: Judged
    question: str = ""
    above: Length | None = None
    late: Late | None = None
    between: Between | None = None


@dataclass(frozen=True, slots=True)
class PointAdded:
    """On site a point was added to an area; `finish` counts from the area's zero, `working` is the sum in words.

    `start` is the point or benchmark it lies against and `above` how far above that, so that it moves with it; one
    `on_surface` moves with the area's surface. One without either stays where it is.
    """

    area: str
    point: str
    finish: Elevation
    working: str
    what: str = ""
    at: Place | None = None
    start: str = ""
    above: Length | None = None
    on_surface: bool = False


@dataclass(frozen=True, slots=True)
class TargetChanged:
    """On site a point was given another finish, for that reason; every stage below follows."""

    area: str
    point: str
    finish: Elevation
    why: str


@dataclass(frozen=True, slots=True)
class ToleranceChanged:
    """On site an area was given another tolerance at a stage, for that reason."""

    area: str
    stage: str
    high: Length
    low: Length
    why: str


@dataclass(frozen=True, slots=True)
class Taped:
    """A length of a layout check was taped between two corners; `wanted` is what it was to be, as evidence."""

    layout: str
    start: str
    end: str
    length: Length
    wanted: Length


@dataclass(frozen=True, slots=True)
class Gauged:
    """A step was measured directly: the ``lippage`` between two units, or a paver ``above drain``, at a place."""

    kind: Literal["lippage", "above drain"]
    area: str
    where: str
    length: Length


@dataclass(frozen=True, slots=True)
class SignedOff:
    """A stage of an area was signed off; `accepted` are points that are out of tolerance and accepted all the same.

    `unread` are points nobody read, signed off without. `asked` is what else was asked: stages below that were not
    read or are out, checks that are out or were not made; to sign was to answer yes.
    """

    area: str
    stage: str
    accepted: tuple[str, ...]
    unread: tuple[str, ...]
    remark: str = ""
    asked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DayDescribed:
    """What the daily report says of the day: the weather and who was there."""

    weather: str
    crew: str


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """What follows is a rehearsal, made up by the program from that seed; it proves nothing that was built."""

    seed: int


@dataclass(frozen=True, slots=True)
class Compacted:
    """That stage of an area was compacted in so many passes."""

    stage: str
    passes: int


@dataclass(frozen=True, slots=True)
class Undercut:
    """Someone ordered an area, or one point of it, dug so far below its subgrade; that much is no over-dig."""

    point: str
    depth: Length
    ordered_by: str


@dataclass(frozen=True, slots=True)
class Note:
    """Words worth keeping; about an area where one is named.

    `above` is a working offset that stands from here on, as a reading keeps it; zero takes it off. `compacted` and
    `undercut` say in figures what the words say. `past_hold` is a hold point that was not signed off, above which
    readings are taken from here on all the same.
    """

    area: str | None
    text: str
    above: Length | None = None
    compacted: Compacted | None = None
    undercut: Undercut | None = None
    past_hold: str = ""

    @property
    def on_layers(self) -> bool:
        """Whether it says something of layers beside its words."""
        return bool(self.compacted or self.undercut or self.past_hold)


@dataclass(frozen=True, slots=True)
class Void:
    """The entry that this one replaces no longer counts; it stays in the journal, and so does the reason."""

    why: str


Fact = (
    PlanRevised
    | CautionsRead
    | InstrumentMoved
    | BacksightTaken
    | SetupMade
    | MarkMade
    | MarkGiven
    | Rechecked
    | DoubtAnswered
    | DatumChosen
    | InstrumentTested
    | Reading
    | PointAdded
    | TargetChanged
    | ToleranceChanged
    | Taped
    | Gauged
    | SignedOff
    | DayDescribed
    | Rehearsed
    | Note
    | Void
)

KINDS: dict[str, type[Fact]] = {
    "plan": PlanRevised,
    "cautions": CautionsRead,
    "moved": InstrumentMoved,
    "backsight": BacksightTaken,
    "set-up": SetupMade,
    "mark": MarkMade,
    "mark given": MarkGiven,
    "recheck": Rechecked,
    "doubt": DoubtAnswered,
    "datum": DatumChosen,
    "test": InstrumentTested,
    "reading": Reading,
    "point added": PointAdded,
    "target": TargetChanged,
    "tolerance": ToleranceChanged,
    "taped": Taped,
    "gauged": Gauged,
    "signed off": SignedOff,
    "day": DayDescribed,
    "rehearsal": Rehearsed,
    "note": Note,
    "void": Void,
}
"""The name each kind of fact goes by in the file; names once used are never used for anything else."""
KIND_OF: dict[type[Fact], str] = {kind: name for name, kind in KINDS.items()}


class Head(NamedTuple):
    """An entry of another laptop's chain by its address, the laptop and its number there, and by its hash.

    The hash is which entry it is: a copied or restored job gives two entries one address.
    """

    laptop: str
    number: int
    hash: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An entry on its way to the journal. Its id is given before the first try, so a retry can't double it.

    `clock` is what this machine's clock showed where that could not be believed; then the journal gives the time.
    `knows` are the last entries of other chains that were taken in since the entry before; the journal gives them.
    """

    id: str
    laptop: str
    window: str
    by: str
    typed: str
    at: datetime
    offset: int
    version: str
    plan: str
    fact: Fact
    replaces: str | None = None
    clock: str = ""
    knows: tuple[Head, ...] = ()

    @property
    def kind(self) -> str:
        """The name of the fact's kind."""
        return KIND_OF[type(self.fact)]

    @property
    def area(self) -> str | None:
        """The area the fact is about, if it is about one."""
        about_an_area = Reading | PointAdded | TargetChanged | ToleranceChanged | Gauged | SignedOff | Note
        return self.fact.area if isinstance(self.fact, about_an_area) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Draft):
    """An entry in the journal: `seq` is its place, which is the order of truth; `hash` ties it to all before.

    `at` is in UTC and `offset` the minutes by which local clocks were ahead of it; `typed` is the text exactly
    as it was entered; `replaces` is the id of the entry whose place this one takes.
    """

    seq: int
    hash: str
