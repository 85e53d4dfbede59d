"""The daily report block by block: a page for the owner, then the record for the inspector.

PDF and web page place the same blocks and add no words of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from gradecheck.catalogue import _, check_word, count, stage_word, translated
from gradecheck.measure.printed import some
from gradecheck.measure.verdict_words import Word
from gradecheck.report.checks import MARKS, CheckResult
from gradecheck.report.daily_report import DailyReport, LayoutOfDay
from gradecheck.report.day_book import Noted, PrintedLength
from gradecheck.report.day_readings import AreaMap, AreaOfDay, DayReading, StageOfDay
from gradecheck.report.log import FAILED

MOST_ROWS = 12
"""Areas that the owner's page lists; the record lists them all."""
MOST_LINES = 8
"""Lines of what is out, and of what is open, on the owner's page."""
MORE = _("the record has them all")
SIGNS_SAID = _(
    "off is found minus target: + is high (CUT), \N{MINUS SIGN} is low (FILL); "
    "\N{ALMOST EQUAL TO} was rounded to the marks"
)


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table; a strong one is what must be seen."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A column as wide as its text, or `wide` shares of the room that is left; a figure's fractions stand in line."""

    head: str
    right: bool = False
    figure: bool = False
    wide: int = 0


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a heading; a column in which nothing stands is left out."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 1 to 3, and what stands smaller behind it."""

    level: int
    text: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph in pieces, each with how it is set: plain, strong, or a code that is copied letter by letter."""

    pieces: tuple[tuple[str, str], ...]
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what is said of each; an empty one is a line to write on."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A map; one that `fills` takes the room that the page has left."""

    map: AreaMap
    caption: str
    fills: bool = False


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign on."""

    names: tuple[str, ...]


Block = Table | Heading | Words | Items | Facts | Drawing | Signatures


def _words(text: str, how: str = "plain", *, quiet: bool = False) -> Words:
    return Words(((text, how),), quiet)


def _table(columns: Sequence[Column], rows: Iterable[Sequence[str | Cell | PrintedLength]]) -> Table:
    made = [tuple(_cell(each) for each in row) for row in rows]
    used = [place for place in range(len(columns)) if any(row[place].text for row in made)]
    return Table(tuple(columns[place] for place in used), tuple(tuple(row[place] for place in used) for row in made))


def _cell(value: str | Cell | PrintedLength) -> Cell:
    if isinstance(value, PrintedLength):
        return Cell(value.text)
    return Cell(value) if isinstance(value, str) else value


def _first(texts: Sequence[str], most: int) -> tuple[str, ...]:
    """The first few, and how many more there are."""
    if len(texts) <= most:
        return tuple(texts)
    return (*texts[: most - 1], _("and {texts} more; {more}", texts=len(texts) - most + 1, more=MORE))


# -- the owner's page


def owners_page(report: DailyReport) -> Iterator[Block]:
    """What was built, what is out, what is open, one drawing, and lines to sign on."""
    described = report.described[-1] if report.described else None
    yield Facts(
        (
            (_("weather"), _("; then ").join(each.what for each in report.described)),
            (_("crew"), described.why if described else ""),
            (_("recorded by"), ", ".join(report.people) or _("no entries this day")),
        )
    )
    if wrong := report.instrument.disagrees:
        yield _words(f"{wrong}.", "strong")
    yield Heading(2, _("What was built"))
    if report.summary:
        built = _built(report)
        yield Table(built.columns, built.rows[:MOST_ROWS])
        if len(built.rows) > MOST_ROWS:
            yield _words(
                _("and {rows} more; {more}", rows=count(len(built.rows) - MOST_ROWS, "area"), more=MORE), quiet=True
            )
    else:
        yield _words(_nothing_measured(report))
    yield Heading(2, _("What is out"))
    out = what_is_out(report)
    yield (
        Items(_first(out, MOST_LINES))
        if out
        else _words(_nothing_out(report) if report.summary else _nothing_measured(report))
    )
    if left := _not_checked(report):
        yield _words(_("NOT CHECKED: {first}.", first="; ".join(_first(left, MOST_LINES))))
    yield Heading(2, _("What is open"))
    yield (
        Items(_first(report.open, MOST_LINES))
        if report.open
        else _words(
            _("Nothing is open.")
            if report.is_last
            else _("This is not the last day with entries; see the last one's report.")
        )
    )
    if report.over_dig_total:
        yield _words(_("Over-dig so far, to fill it in all areas: {total}.", total=report.over_dig_total))
    if report.map is not None:
        yield Drawing(report.map, _("As found: {stage}", stage=report.map.stage), fills=True)
    yield Signatures(report.signers)


def _built(report: DailyReport) -> Table:
    """A row for each area: what was worked on, and how it was found over all of that."""
    columns = (
        Column(_("area"), wide=2), Column(_("worked on"), wide=3), Column(_("read"), right=True),
        Column(_("on grade"), right=True), Column(_("out"), right=True), Column(_("too close"), right=True),
        Column(_("in doubt"), right=True), Column(_("signed off"), wide=2),
    )  # fmt: skip
    rows: list[tuple[str | Cell, ...]] = []
    for area in dict.fromkeys(row.area for row in report.summary):
        own = [row for row in report.summary if row.area == area]
        counts = [str(sum(row.read for row in own)), str(sum(row.within for row in own))]
        out = sum(row.cut + row.fill for row in own)
        loud = map(_loud, (out, sum(row.undecided for row in own), sum(row.doubt for row in own)))
        signed = ", ".join(row.stage for row in own if row.signed)
        rows.append((area, ", ".join(stage_word(row.stage) for row in own), *counts, *loud, signed or _("no")))
    return _table(columns, rows)


def _summary(report: DailyReport) -> Table:
    columns = (
        Column(_("area"), wide=3), Column(_("stage")), Column(_("read"), right=True), Column(_("of"), right=True),
        Column(_("on grade"), right=True), Column(_("cut"), right=True), Column(_("fill"), right=True),
        Column(_("too close"), right=True), Column(_("in doubt"), right=True), Column(_("struck"), right=True),
        Column(_("worst"), wide=2), Column(_("signed off"), wide=2),
    )  # fmt: skip
    return _table(
        columns,
        (
            (row.area, stage_word(row.stage), str(row.read), str(row.points), str(row.within), _loud(row.cut),
             _loud(row.fill), _loud(row.undecided), _loud(row.doubt), str(row.voided), row.worst, row.signed)
            for row in report.summary
        ),
    )  # fmt: skip


def _loud(number: int) -> Cell:
    return Cell(str(number), strong=number > 0)


def what_is_out(report: DailyReport) -> list[str]:
    """Points that are CUT or FILL, stage by stage, then the checks that are OUT."""
    lines = []
    for area in report.areas:
        for stage in area.stages:
            if out := stage.out:
                lines.append(f"{area.name}, {stage_word(stage.stage)}: {some(out, 8)}")
    checks = [(area.name, result) for area in report.areas for stage in area.stages for result in stage.checks]
    checks += [(layout.name, result) for layout in report.layouts for result in layout.checks]
    faults = [(name, result) for name, result in checks if result.verdict == "fault"]
    for name, result in faults:
        check = f"{check_word(result.section)}: " if result.section != name else ""
        lines.append(f"{name}: {check}{result.says}")
    return lines


def _not_checked(report: DailyReport) -> list[str]:
    """Area by area the checks that were not made, and readings without a verdict."""
    found = []
    for area in report.areas:
        names = [
            check_word(result.section)
            for stage in area.stages
            for result in stage.checks
            if result.verdict == "not checked"
        ]
        found += [f"{area.name}: {', '.join(dict.fromkeys(names))}"] if names else []
    found += [
        _("{area}, {stage}: {not_judged} not judged", area=row.area, stage=row.stage, not_judged=row.not_judged)
        for row in report.summary
        if row.not_judged
    ]
    missing = [each.name for each in report.layouts if any(result.verdict == "not checked" for result in each.checks)]
    return found + [_("squareness of {name}", name=name) for name in missing]


# -- the record


def record(report: DailyReport) -> Iterator[Block]:
    """Everything that the day's figures can be traced by."""
    yield Heading(1, _("Record"), _("Each no. is an entry in the job's log; entries are only ever added."))
    yield Facts(
        (
            (
                _("weather"),
                _("; then ").join(_("{what} (no. {seq})", what=each.what, seq=each.seq) for each in report.described)
                or _("not recorded"),
            ),
            (_("instrument"), report.instrument.good_for),
            (_("rods"), "; ".join(report.instrument.rods) or _("none was read")),
            (_("elevations"), report.zero),
            (
                _("lengths"),
                _("{lengths} where no unit is given; {signs_said}", lengths=report.lengths, signs_said=SIGNS_SAID),
            ),
        )
    )
    if report.summary:
        yield Heading(2, _("Stage by stage"))
        yield _summary(report)
    for heading, texts in ((_("What is out"), what_is_out(report)), (_("Still open"), report.open)):
        if len(texts) > MOST_LINES:
            yield Heading(2, heading)
            yield Items(tuple(texts))
    yield from _instrument(report)
    for area in report.areas:
        yield from _area(area, whole=report.is_whole)
    if report.over_dig:
        yield Heading(2, _("Over-dig so far"))
        yield _table(
            (Column(_("area")), Column(""), Column(_("found"), wide=1)),
            ((area, MARKS[result.verdict], result.says) for area, result in report.over_dig),
        )
        if report.over_dig_total:
            yield _words(_("To fill it in all areas: {total}.", total=report.over_dig_total), "strong")
    for layout in report.layouts:
        yield from _layout(layout)
    yield from _recorded(report)
    yield from _end(report)


def _nothing_measured(report: DailyReport) -> str:
    return _("Nothing was measured.") if report.is_whole else _("Nothing was measured that day.")


def _nothing_out(report: DailyReport) -> str:
    return _("Nothing that was read is out.") if report.is_whole else _("Nothing read that day is out.")


def _instrument(report: DailyReport) -> Iterator[Block]:
    instrument = report.instrument
    if instrument.set_ups:
        yield Heading(2, _("Setups"))
    for each in instrument.set_ups:
        readings = count(each.readings, "reading")
        if not report.is_whole:
            readings = _("{readings} that day", readings=readings)
        said = _(
            ", {when}, {by}: {stands}; {readings}. ",
            when=each.when,
            by=each.by,
            stands=each.stands,
            readings=readings,
        )
        yield Words(
            (
                (_("no. {seq}", seq=each.seq), "strong"),
                (said, "plain"),
                (f"{each.disturbed}." if each.disturbed else "", "strong"),
            )
        )
        if each.marks:
            columns = (
                Column(_("mark")),
                Column(_("rod"), figure=True),
                Column(_("HI"), figure=True),
                Column(_("off the mean"), figure=True),
            )
            yield _table(columns, ((mark.mark, mark.rod, mark.zero, mark.off) for mark in each.marks))
        yield _words(
            _("{agreement} Used anyway: {why}.", agreement=each.agreement, why=each.why)
            if each.why
            else each.agreement
        )
    if instrument.rechecks:
        yield Heading(3, _("Benchmark rechecks"))
        looks = (
            Column(_("no."), right=True), Column(_("when")), Column(_("by")), Column(_("setup"), right=True),
            Column(_("mark")), Column(_("rod"), figure=True), Column(_("off by"), figure=True),
            Column(_("then")), Column(_("now")),
        )  # fmt: skip
        yield _table(
            looks,
            (
                (str(each.seq), each.time, each.by, _number(each.setup), each.mark, each.rod, each.off, each.then,
                 Cell(each.now, strong=each.now == FAILED))
                for each in instrument.rechecks
            ),
        )  # fmt: skip
    if instrument.marks:
        yield Heading(3, _("Marks made or corrected"))
        yield _noted(instrument.marks, _("elevation and how it was carried"), _("where"))
    if report.laptops:
        yield Heading(3, _("How the laptops and their lasers agree"))
        yield Items(report.laptops)
    if instrument.tests:
        yield Heading(3, _("Tests of the instrument"))
        yield _noted(instrument.tests)
    if instrument.circuits:
        yield Heading(3, _("Circuits of the job so far"))
        lines = "\n".join(instrument.circuits).replace("\n  ", " ").split("\n")
        yield Items(tuple(lines))


def _number(number: int) -> str:
    return str(number) if number else ""


def _noted(rows: Sequence[Noted], what: str = "", why: str = "") -> Table:
    columns = (
        Column(_("no."), right=True),
        Column(_("when")),
        Column(_("by")),
        Column(""),
        Column(what, wide=3),
        Column(why, wide=2),
    )
    return _table(columns, ((str(row.seq), row.when, row.by, row.kind, row.what, row.why) for row in rows))


def _area(area: AreaOfDay, *, whole: bool) -> Iterator[Block]:
    yield Heading(2, area.name, area.what)
    if area.map is not None:
        yield Drawing(area.map, _("{stage}: off at each point", stage=area.map.stage))
    for stage in area.stages:
        yield from _stage(area, stage, whole=whole)
    if area.gauged:
        yield Heading(3, _("Steps measured"))
        yield _noted(area.gauged)


def _moment(reading: DayReading, *, whole: bool) -> str:
    return f"{reading.day} {reading.time}" if whole else reading.time


def _stage(area: AreaOfDay, stage: StageOfDay, *, whole: bool) -> Iterator[Block]:
    on_grade = Word.ON_GRADE.shown
    yield Heading(
        3,
        f"{area.name}, {stage_word(stage.stage)}",
        _("allowed {allowed}", allowed=stage.allowed) if stage.allowed else "",
    )
    columns = (
        Column(_("no."), right=True), Column(_("time")), Column(_("by")), Column(_("point")),
        Column(_("where"), wide=1), Column(_("setup"), right=True), Column(_("target"), figure=True),
        Column(_("rod"), figure=True), Column(_("found"), figure=True), Column(_("off"), figure=True),
        Column(_("then")), Column(_("now")),
        Column(_("remark"), wide=1),
    )  # fmt: skip
    if stage.readings:
        yield _table(
            columns,
            (
                (str(each.seq), _moment(each, whole=whole), each.by, each.point, each.what, _number(each.setup),
                 each.target, each.rod,
                 each.found, each.off, each.then,
                 Cell(f"{'? ' if each.doubt else ''}{each.now}", strong=each.doubt or each.now != on_grade),
                 each.remark)
                for each in stage.readings
            ),
        )  # fmt: skip
    for what, names in ((_("Not read"), stage.unread), (_("Read on another day"), stage.earlier)):
        if names:
            yield _words(f"{what}: {', '.join(names)}.")
    if stage.signed:
        yield _words(_("Signed off: {signed}.", signed=stage.signed))
    if stage.checks:
        yield _results_table(stage.checks)


def _results_table(checks: Sequence[CheckResult]) -> Table:
    rows, last = [], ""
    for each in checks:
        loud = each.verdict in ("fault", "not checked")
        limit = f"{each.limit}, {translated(each.source)}" if each.limit else ""
        rows.append(
            (
                "" if each.section == last else check_word(each.section),
                Cell(MARKS[each.verdict], loud),
                Cell(each.says, loud),
                limit,
            )
        )
        last = each.section
    return _table(
        (Column(_("check")), Column(""), Column(_("found"), wide=3), Column(_("limit and source"), wide=2)), rows
    )


def _layout(layout: LayoutOfDay) -> Iterator[Block]:
    yield Heading(2, _("Squareness: {name}", name=layout.name))
    if layout.tapes:
        columns = (
            Column(_("no."), right=True), Column(_("tape")), Column(_("target"), figure=True),
            Column(_("taped"), figure=True), Column(_("off"), figure=True),
        )  # fmt: skip
        yield _table(
            columns, ((str(each.seq), each.between, each.target, each.taped, each.off) for each in layout.tapes)
        )
    yield _results_table(layout.checks)


def _recorded(report: DailyReport) -> Iterator[Block]:
    """What was struck, answered, changed, signed and noted."""
    for heading, rows, what, why in (
        (_("Struck and corrected"), report.struck, _("what was there"), _("why, or what is there now")),
        (_("Doubts answered"), report.trusted, "", ""),
        (_("Plan accepted, and changes on site"), report.changes, "", ""),
    ):
        if rows:
            yield Heading(2, heading)
            yield _noted(rows, what, why)
    if report.signed:
        yield Heading(2, _("Stages signed off"))
        columns = (
            Column(_("no."), right=True), Column(_("when")), Column(_("by")), Column(_("area")), Column(_("stage")),
            Column(_("accepted although out"), wide=2), Column(_("not read"), wide=2),
            Column(_("also accepted"), wide=4), Column(_("remark"), wide=2),
        )  # fmt: skip
        yield _table(
            columns,
            (
                (str(each.seq), each.when, each.by, each.area, each.stage, ", ".join(each.accepted) or _("none"),
                 ", ".join(each.unread) or _("none"),
                 "; ".join(map(translated, each.asked)) or _("none"), each.remark)
                for each in report.signed
            ),
        )  # fmt: skip
    if report.notes:
        yield Heading(2, _("Notes"))
        yield _noted(report.notes)


def _end(report: DailyReport) -> Iterator[Block]:
    """Limits, cautions, and what the report can be traced by."""
    yield Heading(2, _("Limits used"))
    yield _table(
        (Column(_("what")), Column(_("limit")), Column(_("source"), wide=1)),
        ((check_word(each.what), each.limit, translated(each.source)) for each in report.limits),
    )
    yield _words(_("Tolerances are listed beside each stage."))
    yield Heading(2, _("Cautions"))
    yield Items(report.cautions)
    if report.cautions_read:
        read = ", ".join(
            _("{by} at {when} (no. {seq})", by=each.by, when=each.when, seq=each.seq) for each in report.cautions_read
        )
        yield _words(_("Read by {read}.", read=read))
    trace = report.trace
    own = (
        _(
            "{which}: {entries}, no. {first} to no. {last}. ",
            which=_("All days") if report.is_whole else _("This day"),
            entries=count(trace.entries, "entry", "entries"),
            first=trace.first,
            last=trace.last,
        )
        if trace.entries
        else ""
    )
    yield Words(
        (
            (
                _("{own}Judged now: as of entry no. {number}. ", own=own, number=trace.journal_last),
                "plain",
            ),
            (_("Hash of entry no. {number} to read out: ", number=trace.journal_last), "plain"),
            (trace.journal_hash_short, "code"),
            (_(". In full: "), "plain"),
            (trace.journal_hash, "code"),
            (_(". Plan: "), "plain"),
            (trace.plan, "code"),
            (_(". gradecheck {version}.", version=trace.version), "plain"),
        ),
        quiet=True,
    )
