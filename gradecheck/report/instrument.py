"""Setups, marks and rechecks in words: what stands, how it was carried, how well it agrees, when to look again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from gradecheck.catalogue import _, count, plural
from gradecheck.journal.facts import Entry, Rechecked
from gradecheck.journal.stamps import on_site
from gradecheck.measure.judged import at_a_mark, judged_length, limit_text
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import ZERO, FallXY, Length
from gradecheck.plan.model import Rod
from gradecheck.plan.targets import true_minus
from gradecheck.report.rows import show_sure
from gradecheck.state.preview import Preview
from gradecheck.state.state import KeptSetup, State
from gradecheck.survey.level_book import LAST, Recheck, RecordedSetup
from gradecheck.survey.uncertainty import expanded

SETUP_DISAGREES = _("SETUP DISAGREES")
"""What is said of a setup whose marks disagree by more than is allowed, until another replaces it."""
CLOCKS_DIFFER = timedelta(seconds=2)
"""Two looks at one clock may show as much less than went by; beyond that it was set."""


def set_up_line(state: State, setup: KeptSetup) -> str:
    """A setup in one line: the marks, what the rod read, and the HI."""
    rod = state.plan.rods.get(setup.fact.rod, state.plan.rod)
    read = ", ".join(f"{sight.mark} {show(sight.rod, rod.notation, unit=True)}" for sight in setup.fact.backsights)
    if setup.instrument is None:
        return _("{read}: a mark or the rod is no longer known", read=read)
    zero = show(state.shown(setup.instrument.zero), state.plan.notation, unit=True)
    beam = _("; beam {falls}", falls=falls_line(setup.fact.slopes)) if setup.fact.slopes else ""
    return _(
        "{name} on {read}; {zero_name} {zero}{beam}",
        name=rod.name,
        read=read,
        zero_name=zero_name(rod),
        zero=zero,
        beam=beam,
    )


def setup_since(setup: KeptSetup) -> str:
    """The setup where there is little room: its first mark, and since when on the clock of the site."""
    return _(
        "setup on {mark} {on_site:%H:%M}", mark=setup.fact.backsights[0].mark, on_site=on_site(setup.at, setup.offset)
    )


def falls_line(slopes: FallXY) -> str:
    """The falls of a beam along x and y: ``falls 2%, 0.5%``."""
    return _("falls {slopes}", slopes=", ".join(f"{float(slope.percent):.4g}%" for slope in slopes))


def zero_name(rod: Rod) -> str:
    """What the height of the instrument is called: of a direct rod it is where its zero lies."""
    return _("rod zero") if rod.kind == "direct" else "HI"


def mark_line(state: State, name: str) -> str:
    """A mark to choose: its name, its elevation as it is known now, and where it is."""
    elevation = state.mark(name)
    benchmark = state.plan.benchmarks.get(name)
    shown = show(state.shown(elevation), state.plan.notation, unit=True) if elevation else _("not known")
    place = benchmark.what if benchmark else _("made on site")
    doubt = _("  IN DOUBT") if state.doubt.mark_in_doubt(name) else ""
    return f"{name:<10} {shown:>14}   {place}{doubt}".rstrip()


def chain_line(state: State, name: str, before: int = LAST) -> str:
    """How a mark's elevation was carried: ``TP2 = DOOR 0 + 4' 3" − 2' 1 1/2" + ... = ...``.

    A mark taken anew is told as it is now, or as it was known before that place in the journal.
    """
    steps, elevation = state.book.chain(name, before), state.book.elevation(name, before)
    if not steps:
        return (
            _("{name} = {elevation} as given", name=name, elevation=show(state.shown(elevation), state.plan.notation))
            if elevation
            else name
        )
    units = state.plan.notation.units
    base, first = steps[0].base, state.book.recorded(steps[0].setup)
    start = state.book.elevation(base, first.seq) if first else None
    words = f"{base} {true_minus(show_exact(state.shown(start), units))}" if start else base
    for step in steps:
        backsight, foresight = show_exact(step.backsight, units), show_exact(step.foresight, units)
        words += f" − {backsight} + {foresight}" if step.direct else f" + {backsight} − {foresight}"
        if step.fall:
            words += _(
                " {more} {fall} of the beam",
                more=_more(-step.fall, units),
                fall=_("fall") if step.fall > ZERO else _("rise"),
            )
    total = true_minus(show_exact(state.shown(elevation), units, unit=True)) if elevation else _("not known")
    rest = elevation.above(start) - sum((step.rise for step in steps), ZERO) if start and elevation else ZERO
    # The sum follows the first backsight of each setup; where several were taken their mean counts.
    mean = _(" {more} by the mean of backsights", more=_more(rest, units)) if rest else ""
    return f"{name} = {words}{mean} = {total}"


def _more(length: Length, units: Units) -> str:
    """A length with the sign that adds it to a sum."""
    return f"{'−' if length < ZERO else '+'} {show_exact(abs(length), units)}"


@dataclass(frozen=True, slots=True)
class AgreementRow:
    """One backsight of a setup: the zero it gives and how far that lies from the mean of all."""

    mark: str
    rod: str
    zero: str
    off: str


def agreement_rows(state: State, setup: RecordedSetup) -> list[AgreementRow]:
    """The backsights of a setup, made already or being made."""
    agreement = state.book.agreement(setup)
    rod = state.plan.rods.get(setup.rod, state.plan.rod)
    if agreement is None:
        return []
    notation = state.plan.notation
    return [
        AgreementRow(
            mark,
            show(reading, rod.notation, unit=True),
            show(state.shown(zero), notation, unit=True),
            show(zero.above(agreement.mean), notation, plus=True) if len(agreement.zeros) > 1 else "",
        )
        for (mark, reading), (_, zero) in zip(setup.sights, agreement.zeros, strict=True)
    ]


def agreement_line(state: State, setup: RecordedSetup) -> str:
    """How well the backsights agree, what stands out, and what the setup carries."""
    agreement = state.book.agreement(setup)
    if agreement is None:
        return _("No backsight yet.")
    notation = state.plan.notation
    carried = state.carried.carried(setup)
    sure = (
        _(" Setup uncertainty {uncertainty}.", uncertainty=show_sure(expanded(carried**0.5), notation.units))
        if carried is not None
        else ""
    )
    if len(agreement.zeros) == 1:
        [(mark, _rod)] = setup.sights
        kind = "benchmark" if mark in state.plan.benchmarks else _("turning point")
        return _("One {kind} only: no check on this setup.{sure}", kind=kind, sure=sure)
    wrong = disagreement(state, setup)
    if not wrong:
        texts = judged_length(agreement.spread, state.plan.rechecks.allowed, notation, passes=True)
        if not agreement.spread.metres:
            return _("They agree exactly (allowed {limit}).{sure}", limit=texts.limit, sure=sure)
        return _(
            "They agree within {found} (allowed {limit}); the mean is taken.{sure}",
            found=texts.found,
            limit=texts.limit,
            sure=sure,
        )
    odd = _(" {stands_out} is the odd one.", stands_out=agreement.stands_out) if agreement.stands_out else ""
    return _("THEY DISAGREE {wrong}.{odd} Read again, or strike one.", wrong=wrong, odd=odd)


def disagreement(state: State, setup: RecordedSetup) -> str:
    """By how much the backsights disagree, ``by 1 in (allowed 1/8 in)``; empty where they agree."""
    agreement, allowed = state.book.agreement(setup), state.plan.rechecks.allowed
    if agreement is None or agreement.within(allowed):
        return ""
    texts = judged_length(agreement.spread, allowed, state.plan.notation, passes=False)
    return _("by {found} (allowed {limit})", found=texts.found, limit=texts.limit)


def disagrees_by(state: State, setup: RecordedSetup, *, unit: bool = False) -> str:
    """The figure alone, ``7/16``, for large letters; empty where the backsights agree."""
    agreement, allowed = state.book.agreement(setup), state.plan.rechecks.allowed
    if agreement is None or agreement.within(allowed):
        return ""
    found = judged_length(agreement.spread, allowed, state.plan.notation, passes=False).found
    return found if unit else found.removesuffix(f" {state.plan.notation.units.value}")


def setup_disagrees(state: State, setup: KeptSetup | None) -> str:
    """``SETUP DISAGREES by 7/16 in (allowed 1/8 in): wind on the rod``; empty where its marks agree."""
    made = state.book.recorded(setup.id) if setup is not None else None
    wrong = disagreement(state, made) if made is not None else ""
    why = f": {setup.fact.why}" if setup is not None and setup.fact.why else ""
    return f"{SETUP_DISAGREES} {wrong}{why}" if wrong else ""


def setup_warning(state: State, setup: KeptSetup | None) -> tuple[str, str]:
    """The same for a title: ``SETUP DISAGREES 7/16 in``, and why it is used; both empty where its marks agree."""
    made = state.book.recorded(setup.id) if setup is not None else None
    by = disagrees_by(state, made, unit=True) if made is not None else ""
    return (f"{SETUP_DISAGREES} {by}", setup.fact.why) if by and setup is not None else ("", "")


def shown_off(off: Length, allowed: Length, notation: Notation) -> str:
    """What a recheck is off by, at the nearest mark on its side of what is allowed; ``~`` where that rounds it."""
    rounded = at_a_mark(off, allowed, notation)
    return f"{'' if rounded == off else '~'}{show(rounded, notation, unit=True)}"


def recheck_line(state: State, entry: Entry, fact: Rechecked) -> str:
    """What a recheck meant, as it was taken."""
    notation = state.plan.notation
    held = state.doubt.held(Recheck(entry.seq, entry.id, fact.setup, fact.mark, fact.rod))
    off, most = (held.off, held.allowed) if held is not None else (fact.off, state.plan.rechecks.allowed)
    found, allowed = shown_off(off, most, notation), limit_text(most, notation.units)
    against = held.against if held is not None else "mark"
    if against == "circuit":
        allowed += _(" by {closure}", closure=state.plan.closure)
    since = _(" since the first recheck") if against == "first recheck" else ""
    if fact.good:
        closes = _("the circuit closes and ") if against == "circuit" else ""
        return _(
            "{mark} is off by {found}{since} (allowed {allowed}): {closes}setup OK.",
            mark=fact.mark,
            found=found,
            since=since,
            allowed=allowed,
            closes=closes,
        )
    doubts = len(state.doubts())
    readings = _("{doubts} in doubt", doubts=count(doubts, "reading"))
    off_by = _(
        "{mark} is OFF BY {found}{since} (allowed {allowed})",
        mark=fact.mark,
        found=found,
        since=since,
        allowed=allowed,
    )
    return _("{off_by}: {readings} since the last good recheck. Set up again.", off_by=off_by, readings=readings)


def preview_line(state: State, preview: Preview) -> str:
    """What a correction would change."""
    if not preview.moved and not preview.changed and not preview.doubted:
        return _("No reading would change.")
    by = show_exact(preview.largest, state.plan.notation.units, unit=True)
    points = plural(preview.moved, "{n} point moves", "{n} points move")
    changed = len(preview.changed)
    verdicts = plural(changed, "{n} verdict changes", "{n} verdicts change") if changed else _("no verdict changes")
    doubts = _("; {doubted} in doubt", doubted=len(preview.doubted)) if preview.doubted else ""
    return _("{points}, at most by {by}; {verdicts}{doubts}.", points=points, by=by, verdicts=verdicts, doubts=doubts)


def look_again(state: State, now: datetime, passed: timedelta | None = None) -> str:
    """The reminder to look at a mark again, empty while it is not time.

    `passed` is how long ago the last look was by a clock that nobody sets, where that is known.
    """
    setup = state.setup
    looked = state.looked(setup.id) if setup else None
    if setup is None or looked is None:
        return ""
    rule = state.plan.rechecks
    readings = state.readings_since_look(setup.id)
    since = now - looked if passed is None else passed
    minutes = int(since.total_seconds() // 60)
    if readings >= rule.readings:
        return plural(
            readings,
            "{n} reading since the last recheck. Press F5.",
            "{n} readings since the last recheck. Press F5.",
        )
    if minutes >= rule.minutes and readings:
        return plural(
            minutes,
            "{n} minute since the last recheck. Press F5.",
            "{n} minutes since the last recheck. Press F5.",
        )
    if since < -CLOCKS_DIFFER and readings:
        return _("The clock was set back since the last recheck. Press F5.")
    return ""
