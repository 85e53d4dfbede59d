"""Verbs of the day on site: `read`, `strike`, `undo`, `correct`; of the plan there: `add`, `change`, `changes`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.catalogue import _, translated
from gradecheck.checks.blunders import KEEPS
from gradecheck.cli.options import Recording, Reply, csv_option, flag, named, on_session, option, stage_option
from gradecheck.cli.reading_list import Sighted, listed_lines, sighted
from gradecheck.cli.shared import assignment, length_json, length_text, tell_cautions
from gradecheck.journal.facts import Draft, Entry, Note, PointAdded, Reading, TargetChanged, ToleranceChanged, Void
from gradecheck.measure.printed import show
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.names import as_known
from gradecheck.report.instrument import preview_line
from gradecheck.report.log import reading_notes, undo_line
from gradecheck.report.plan_changes import amendment_line, change_lines, offer_words, plan_text, summary
from gradecheck.report.rows import answer
from gradecheck.session.session import NobodyError, Session
from gradecheck.state.state import Shot, Surface, shot_of


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadOptions(Recording):
    sights: Sequence[str] = named(
        "POINT=READING", (), nargs="+", help=_("or “P4 to P8 at 3 ft=51-3/8”, a spot on a string")
    )
    source: str | None = option(
        "--from", metavar="FILE", help=_("readings of a file, - of standard input: a line each, POINT READING [TIME]")
    )
    stage: str | None = stage_option()
    offset: str | None = option(
        "--offset",
        metavar="OFFSET",
        help=_("the rod stood that far off the target, as “3 1/4 above”: on a string or form"),
    )
    time: str | None = option(
        "--time", metavar="TIME", help=_("from paper: the time it was read, 10:05 or “2026-05-12 10:05”")
    )
    person: str | None = option("--person", metavar="XX", help=_("from paper: who read it, if it was someone else"))
    why: str | None = option("--why", metavar="TEXT", help=_("why you go past a hold point that is not signed off"))
    csv: bool = csv_option()


@on_session(ReadOptions, apart=(("source", "sights"), ("csv", "json")))
def read(session: Session, options: ReadOptions) -> Reply:
    """Records readings and answers each; one that is not understood keeps all from being written."""
    drafts = _drafts(session, options)
    tell_cautions(session, [draft.fact for draft in drafts])
    rows: list[dict[str, object]] = []
    lines: list[str] = []
    # Written together, all or none; taken over one by one, because a point may be read twice.
    for entry in session.write(*drafts):
        session.adopt([entry])
        if isinstance(entry.fact, Reading):
            surface = Surface(entry.fact.area, entry.fact.point, entry.fact.stage)
            shot = shot_of(entry, entry.fact, entry.by)
            rows.append(_reading_json(session, surface, entry, shot))
            lines += _reading_lines(session, surface, entry, shot)
        elif isinstance(entry.fact, Note) and entry.fact.past_hold:
            lines.append(f"{entry.fact.area}: {entry.fact.text}")
    return Reply(rows, lines)


def _drafts(session: Session, options: ReadOptions) -> list[Draft]:
    """All readings, each behind the notes on hold points that it goes past; of a file each wrong line is told.

    Raises Refusal.
    """
    drafts: list[Draft] = []
    past: dict[str, list[str]] = {}
    wrong: list[str] = []
    for where, line in _given(options):
        try:
            drafts += _drafts_of(session, where, line, options, past)
        except NobodyError:
            raise
        except Refusal as refused:
            if not where:
                raise
            wrong.append(f"{where}: {refused}")
    if wrong:
        more = [_("And {more} more.", more=len(wrong) - _MOST_LISTED)] if len(wrong) > _MOST_LISTED else []
        raise Refusal(
            "\n".join([*wrong[:_MOST_LISTED], *more, _("Nothing was recorded; fix these and run it again.")])
        )
    if not drafts:
        raise Refusal(_("There is no reading in it; write a line each, POINT READING."))
    if options.why is not None and not past:
        raise Refusal(_("No hold point is in the way; take --why out."))
    return drafts


_MOST_LISTED = 20
"""Lines of a file that are told as wrong, one by one."""


def _given(options: ReadOptions) -> Iterable[tuple[str, str]]:
    """Each reading as it was typed, with its place where that is a line of a file. Raises Refusal."""
    if options.source is not None:
        return listed_lines(options.source)
    if not options.sights:
        raise Refusal(_("Say what was read: POINT=READING, or --from FILE."))
    return [("", sight) for sight in options.sights]


def _drafts_of(
    session: Session, where: str, typed: str, options: ReadOptions, past: dict[str, list[str]]
) -> Iterator[Draft]:
    units = session.plan.rod.notation.units
    sight = sighted(typed, session.name_of, units) if where else Sighted(*assignment(typed, units))
    time = sight.time or options.time
    if options.person is not None and time is None:
        raise Refusal(_("--person belongs to a reading from paper; give its time too. Nothing was recorded."))
    late = session.late(time, options.person or "") if time is not None else None
    above = session.state.offset if late is None else session.state.offset_at(late.after)
    if options.offset is not None:
        above = actions.working_offset(session.state, options.offset)
    surface = _surface(session, sight.name, options.stage)
    slip = session.question(surface, sight.reading, above, late)
    yield from [session.draft(each) for each in _past_holds(session, surface, options, past)]
    asked, gone = slip.says if slip else "", past.get(surface.area, ())
    yield session.draft(actions.reading(session.state, surface, sight.reading, asked, above, late, gone))


def _past_holds(
    session: Session, surface: Surface, options: ReadOptions, past: dict[str, list[str]]
) -> Iterator[actions.Action]:
    """The hold points that this reading goes past, put to those before it. Raises Refusal without a reason."""
    area = session.plan.areas[surface.area]
    gone = past.get(area.name, [])
    while (hold := session.state.record.hold_before(area, surface.stage, gone)) is not None:
        if options.why is None:
            sign = _('gradecheck sign {job} {area} "{hold}"', job=options.job, area=f'"{area.name}"', hold=hold)
            way = _("Sign it: {sign}. Or go past it with a reason: --why TEXT.", sign=sign)
            raise Refusal(f"{actions.HeldError(area.name, hold, surface.stage)} {way}")
        yield actions.go_past(session.state, area.name, hold, options.why)
        past[area.name] = gone = [*gone, hold]


def _reading_lines(session: Session, surface: Surface, entry: Entry, shot: Shot) -> list[str]:
    said = answer(session.state, surface, shot)
    assert said is not None
    line = _(
        "{point:<8} {stage:<9} {headline:<16} found {found}, rod {rod}",
        point=surface.point,
        stage=surface.stage,
        headline=said.headline,
        found=said.found,
        rod=said.rod,
    )
    question, notes = translated(_question(entry)), _notes(session, entry)
    return [
        line,
        *([_("         kept, but: {question}", question=question)] if question else []),
        *(f"         {note}" for note in notes),
    ]


def _notes(session: Session, entry: Entry) -> list[str]:
    return reading_notes(entry.fact, session.plan.notation) if isinstance(entry.fact, Reading) else []


def _surface(session: Session, name: str, stage: str | None) -> Surface:
    """The surface meant; without a stage, the finish."""
    point = session.name_of(name)
    if point is None and (spot := actions.spot_on_string(session.state, stage, name)) is not None:
        return spot
    area = session.plan.area_of.get(point) if point else None
    if point is None or area is None:
        raise actions.no_point(session.plan, name)
    home = session.plan.areas[area]
    return Surface(area, point, home.stages[-1] if stage is None else as_known(stage, home.stages) or stage)


def _reading_json(session: Session, surface: Surface, entry: Entry, shot: Shot) -> dict[str, object]:
    verdict = session.state.judge(shot, surface)
    assert verdict is not None
    sure, notation = session.state.uncertainty(shot.setup, shot.rod, surface), session.plan.notation
    found, setup = session.state.found(shot, surface), session.state.book.setup(shot.setup)
    assert found is not None
    return {
        "entry": entry.seq,
        "id": entry.id,
        **surface._asdict(),
        "verdict": verdict.word.value,
        "rod": length_json(shot.rod, setup.rod.notation if setup is not None else notation),
        "found": length_json(session.state.shown(found), notation),
        "difference": None
        if verdict.word is Word.EXAMPLE
        else length_text(verdict.difference, show(verdict.rounded(notation.graduation), notation, unit=True)),
        "uncertainty": length_json(sure, notation) if sure is not None else None,
        "question": _question(entry),
        **({"notes": notes} if (notes := _notes(session, entry)) else {}),
    }


def _question(entry: Entry) -> str:
    return entry.fact.question.removesuffix(f" {KEEPS}") if isinstance(entry.fact, Reading) else ""


@dataclass(frozen=True, kw_only=True, slots=True)
class StrikeOptions(Recording):
    entry: str = named("ENTRY", help=_("its number in the log"))
    why: str | None = option("--why", metavar="TEXT", help=_("the reason, which stays in the log"))


@on_session(StrikeOptions)
def strike(session: Session, options: StrikeOptions) -> Reply:
    """Strikes an entry, with a reason."""
    struck = session.entry(options.entry)
    if options.why is None:
        example = _('gradecheck strike {job} {seq} --why "rod on a stone"', job=options.job, seq=struck.seq)
        raise Refusal(
            _(
                "Striking entry {seq} needs a reason, which stays in the log: {example}.",
                seq=struck.seq,
                example=example,
            )
        )
    entry = session.record(session.strike(struck.id, options.why))
    return Reply(
        {"entry": entry.seq, "strikes": struck.seq, "why": options.why},
        [_("Entry {seq} is struck; it stays in the log with the reason.", seq=struck.seq)],
    )


@on_session(Recording)
def undo(session: Session, _: Recording) -> Reply:
    """Takes back the person's own last reading, correction of one, or strike."""
    action = session.undo()
    first, last = session.place_of(action.replaces or "")
    entry = session.record(action)
    answered = {"entry": entry.seq, "undoes": first.seq, "counts": not isinstance(entry.fact, Void)}
    return Reply(answered, [undo_line(entry, first, last)])


@dataclass(frozen=True, kw_only=True, slots=True)
class CorrectOptions(Recording):
    entry: str | None = named("[ENTRY]", None, help=_("its number in the log"))
    reading: str | None = named("[READING]", None, type=str.strip, help=_("the correct reading"))
    mark: str | None = option("--mark", metavar="NAME=ELEVATION", help=_("a mark's correct elevation, with --why"))
    moved: bool = flag("--moved", _("the mark moved: correct from now on only"))
    why: str | None = option("--why", metavar="TEXT", help=_("the reason, which stays in the log"))
    dry: bool = flag("--dry", _("only say what would change"))


@on_session(CorrectOptions, apart=(("mark", "entry"),), belongs=(("moved", "mark"),))
def correct(session: Session, options: CorrectOptions) -> Reply:
    """Corrects a figure in its own place, or a mark's elevation; `--dry` only says what would change."""
    beside = []
    if options.mark is not None:
        name, typed = assignment(options.mark, session.plan.rod.notation.units)
        why = options.why or ""
        draft = session.draft(actions.give_mark(session.state, name, typed, has_moved=options.moved, why=why))
    elif options.entry is not None and options.reading is not None:
        entry = session.entry(options.entry)
        draft = session.draft(session.correct(entry.id, options.reading))
        if options.why is not None:
            beside = [actions.why_corrected(entry, options.why)]
    else:
        raise Refusal(_("Say what to correct: ENTRY READING, or --mark NAME=ELEVATION with --why."))
    preview = session.preview(draft)
    if not options.dry:
        session.record(draft, *beside)
    answered = {
        "recorded": not options.dry,
        "points moved": preview.moved,
        "largest": length_json(preview.largest, session.plan.notation),
        "verdicts changed": [surface._asdict() for surface in preview.changed],
    }
    return Reply(answered, [preview_line(session.state, preview)])


# -- layers as they are built


@dataclass(frozen=True, kw_only=True, slots=True)
class CompactOptions(Recording):
    area: str = named("AREA")
    stage: str = named("STAGE")
    passes: str = named("PASSES", type=str.strip)
    remark: str = option("--remark", metavar="TEXT", default="", help=_("what it was rolled with, how wet it was"))


@on_session(CompactOptions)
def compact(session: Session, options: CompactOptions) -> Reply:
    """Notes that a stage was compacted, in so many passes."""
    action = actions.compaction(session.state, options.area, options.stage, options.passes, options.remark)
    return _noted(session, action)


@dataclass(frozen=True, kw_only=True, slots=True)
class UndercutOptions(Recording):
    area: str = named("AREA")
    depth: str = named("DEPTH", type=str.strip, help=_("below the subgrade"))
    point: str = option("--point", metavar="P", default="", help=_("at this point only"))
    ordered_by: str = option("--ordered-by", metavar="NAME", required=True, help=_("who ordered it"))
    why: str = option("--why", metavar="TEXT", required=True)


@on_session(UndercutOptions)
def undercut(session: Session, options: UndercutOptions) -> Reply:
    """Notes an undercut that someone ordered; it is kept apart from over-dig."""
    action = actions.order_undercut(
        session.state, options.area, options.point, options.depth, options.ordered_by, options.why
    )
    return _noted(session, action)


def _noted(session: Session, action: actions.Action) -> Reply:
    entry = session.record(action)
    assert isinstance(entry.fact, Note)
    area, text = entry.fact.area, entry.fact.text
    return Reply({"entry": entry.seq, "area": area, "says": text}, [f"{area}: {text}"])


# -- the plan as it stands on site


@dataclass(frozen=True, kw_only=True, slots=True)
class AddOptions(Recording):
    area: str = named("AREA")
    name: str = named("NAME")
    how: Sequence[str] = named("HOW", nargs="+")
    what: str = option("--what", metavar="TEXT", default="")


@on_session(AddOptions)
def add(session: Session, options: AddOptions) -> Reply:
    """Adds a point to an area of the current plan."""
    how = " ".join(options.how)
    fact = session.record(actions.add_point(session.state, options.area, options.name, how, options.what)).fact
    assert isinstance(fact, PointAdded)
    finish = length_json(fact.finish.height, session.plan.notation)
    return Reply(
        {"area": fact.area, "point": fact.point, "finish": finish, "working": fact.working},
        [_("{point} added to {area}: {working}", point=fact.point, area=fact.area, working=translated(fact.working))],
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangeOptions(Recording):
    what: str = named("NAME=LENGTH", help=_("POINT=ELEVATION, or AREA=TOLERANCE with --stage"))
    stage: str | None = stage_option()
    why: str = option("--why", metavar="TEXT", required=True)


@on_session(ChangeOptions)
def change(session: Session, options: ChangeOptions) -> Reply:
    """Changes a point's finish, or with --stage an area's tolerance."""
    name, typed = assignment(options.what, session.plan.rod.notation.units)
    if options.stage is not None:
        action = actions.change_tolerance(session.state, name, options.stage, typed, options.why)
    else:
        action = actions.change_target(session.state, name, typed, options.why)
    fact = session.record(action).fact
    assert isinstance(fact, TargetChanged | ToleranceChanged)
    said = amendment_line(fact, session.plan.notation, session.state)
    return Reply({"kind": "target" if isinstance(fact, TargetChanged) else "tolerance", "says": said}, [said])


@dataclass(frozen=True, kw_only=True, slots=True)
class ChangesOptions(Recording):
    accept: bool = flag("--accept", _("accept the job file as it is now"))
    as_text: bool = flag("--as-text", _("what was changed on site, as text for the job file"))


@on_session(ChangesOptions, apart=(("accept", "as_text"),))
def changes(session: Session, options: ChangesOptions) -> Reply:
    """What the job file would change, and what was changed on site; 1 while the job file waits to be accepted."""
    if options.as_text:
        text = plan_text(session.state.amendments, session.plan)
        return Reply({"as text": text}, text=text)
    waiting = session.offered_changes
    if options.accept:
        session.record(session.accept_plan())
    code = 0 if options.accept or waiting is None else 1
    return Reply(_changes_json(session, options.accept), _changes_lines(session, accepted=options.accept), code=code)


def _changes_lines(session: Session, *, accepted: bool) -> list[str]:
    notation, offered = session.plan.notation, session.offered_changes
    lines = [_("The plan in the job file is the current plan{accepted}.", accepted=_(" now") if accepted else "")]
    if offered is not None:
        what = offer_words(session.offered_number)
        lines = [_("{what}: {summary}. It is not accepted yet.", what=what, summary=summary(offered, notation))]
        lines += [f"  {line}" for line in change_lines(offered, notation)]
    amendments = session.state.amendments
    if amendments:
        lines += [
            _("Changed on site:"),
            *(f"  {amendment_line(fact, notation, session.state)}" for fact in amendments),
        ]
    return lines


def _changes_json(session: Session, accepted: bool) -> dict[str, object]:
    notation, offered = session.plan.notation, session.offered_changes
    return {
        "accepted": accepted,
        "digest": session.digest,
        "moved": [
            {"area": each.area, "point": each.point, "stage": each.stage, "by": length_json(each.by, notation)}
            for each in (offered.moved if offered else ())
        ],
        "added": list(offered.added) if offered else [],
        "gone": list(offered.gone) if offered else [],
        "tolerances": [{"area": area, "stage": stage} for area, stage in (offered.tolerances if offered else ())],
        "stages": [{"area": area, "stage": stage} for area, stage in (offered.stages if offered else ())],
        "marks": list(offered.marks) if offered else [],
        "lost": list(offered.lost) if offered else [],
        "staying": list(offered.staying) if offered else [],
        "settings": [
            {"what": each.what, "from": each.was, "to": each.now} for each in (offered.others if offered else ())
        ],
        "on site": [amendment_line(fact, notation, session.state) for fact in session.state.amendments],
    }
