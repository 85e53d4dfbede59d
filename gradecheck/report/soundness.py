"""Whether a log is as it was written, in sentences: what it was compared with, and from where on it is another."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.catalogue import _, count, plural
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.against import Comparison, Outcome, differing_parts
from gradecheck.journal.recovery.health import HashLookup, Health
from gradecheck.journal.short_hash import grouped_hash
from gradecheck.report.log import briefly

MOST = 5
"""Entries that a rescue lost, told one by one; of more only the number is."""
_RECORDED = {"fact": _("what was done"), "typed": _("what was entered"), "at": _("its time"), "by": _("its initials"),
             "offset": _("its clock"), "clock": _("its clock"), "laptop": _("its laptop"), "window": _("its window"),
             "version": _("its version"), "plan": _("its plan"), "id": _("its id"),
             "knows": _("what it knew of other laptops")}  # fmt: skip


def fault(found: Health) -> str | None:
    """What is wrong, in one sentence without its end; None where nothing is."""
    if found.fault is not None:
        return found.fault
    bad = [each for each in found.held if each.bad]
    if bad:
        first = min(bad, key=lambda each: each.first)
        called = _("its copy {name}", name=first.name) if first.is_copy else first.name
        if first.outcome is Outcome.RESCUED:
            return _(
                "{called} still holds entry {seq}, which a rescue could not save here",
                called=called,
                seq=first.missing[0].seq,
            )
        if first.outcome is Outcome.ENDS_EARLIER:
            return _(
                "it ends at entry {first}, but {called} goes on to entry {last}",
                first=first.first - 1,
                called=called,
                last=first.last,
            )
        return _("from entry {first} on it differs from {called}", first=first.first, called=called)
    if found.asked is not None and not found.asked.seq:
        return _not_held(found, found.asked)
    return None


def health_lines(found: Health, job: object) -> Iterator[str]:
    """All that there is to say, a sentence or two each; `job` is how its folder was named."""
    if (wrong := fault(found)) is None:
        yield plural(
            found.entries,
            "Sound: {n} entry, last hash {last_hash}.",
            "Sound: {n} entries, last hash {last_hash}.",
            last_hash=found.last_hash[:16],
        )
        if found.entries:
            yield _(
                "Hash of entry {entries} to read out: {hash}",
                entries=found.entries,
                hash=grouped_hash(found.last_hash),
            )
        if found.theirs:
            yield _(
                "Of other laptops: {theirs}, each as it was written there.",
                theirs=count(found.theirs, "entry", "entries"),
            )
    else:
        yield _("Not sound: {wrong}", wrong=wrong)
    if found.fault is not None and (found.entries or found.behind):
        yield _(
            "Sound up to entry {entries}; {behind} more after that can be saved.",
            entries=found.entries,
            behind=found.behind,
        )
        yield from (_("Lost: {lost}", lost=each) for each in found.lost)
        yield _("To save what is good in a new log: gradecheck rescue {job} -o NEW", job=job)
    for held in found.held:
        yield from _compared(found, held)
    if found.asked is not None:
        yield from _asked(found, found.asked)
    if wrong is not None:
        if any(each.bad for each in found.held):
            yield _("Keep both, and find out which one is right before you go on.")
        yield from map(str, found.copies)
        if not found.copies:
            yield _("No copy is kept next to it.")


def _compared(found: Health, held: Comparison) -> Iterator[str]:
    since = found.entries - held.last
    if held.damaged:
        yield _(
            "{name}: damaged from entry {damaged} on; what can be read of it was compared.",
            name=held.name,
            damaged=held.damaged,
        )
    match held.outcome:
        case Outcome.AGREES if found.fault is not None:
            return
        case Outcome.AGREES if held.damaged:
            yield _("{name}: nothing that can be read of it is different.", name=held.name)
        case Outcome.AGREES if since > 0:
            yield _(
                "{name}: the same up to its last entry, {last}; {since} more here since.",
                name=held.name,
                last=held.last,
                since=since,
            )
        case Outcome.AGREES:
            yield plural(
                held.last,
                "{name}: the same, its one entry.",
                "{name}: the same, all {n} entries.",
                name=held.name,
            )
        case Outcome.ENDS_EARLIER:
            yield _(
                "{name}: the same up to entry {first}. Here it was cut, or an older log put back.",
                name=held.name,
                first=held.first - 1,
            )
            yield _("Entry {first} there: {entry}", first=held.first, entry=_entry_text(held.there))
        case Outcome.DIFFERS:
            before, why = _("nothing is the same"), _("It is another job's log, or one of the two was rewritten.")
            if held.first > 1:
                before = _("the same up to entry {first}", first=held.first - 1)
                why = _("One of the two was rewritten, or work went on in both.")
            yield f"{held.name}: {before}. {why}"
            yield _("Entry {first} there: {entry}", first=held.first, entry=_entry_text(held.there))
            yield _(
                "Entry {seq} here: {entry}",
                seq=held.here.seq if held.here else held.first,
                entry=_entry_text(held.here, held.there),
            )
        case Outcome.RESCUED:
            yield _(
                "{name}: from entry {first} on a rescue linked the log anew; what it saved is the same.",
                name=held.name,
                first=held.first,
            )
            yield from (
                _("Entry {seq} is there and not here: {entry}", seq=each.seq, entry=_entry_text(each))
                for each in held.missing[:MOST]
            )
            if len(held.missing) > MOST:
                yield _(
                    "So are {missing} more, up to entry {seq}.",
                    missing=len(held.missing) - MOST,
                    seq=held.missing[-1].seq,
                )
        case Outcome.NOT_READ:
            yield _("{name}: not compared. {why}", name=held.name, why=held.why)


def _entry_text(entry: Entry | None, beside: Entry | None = None) -> str:
    if entry is None:
        return "none."
    text = briefly(entry)
    if beside is not None and text == briefly(beside):
        return _(
            "{entry}; {parts} differ.",
            entry=text,
            parts=_(" and ").join(dict.fromkeys(map(_RECORDED.__getitem__, differing_parts(entry, beside)))),
        )
    return f"{text}."


def _asked(found: Health, asked: HashLookup) -> Iterator[str]:
    if asked.seq:
        kept = _("so does every entry before it") if found.fault is None else _("what is wrong is listed above")
        yield _("Entry {seq} still has the hash {given}; {kept}.", seq=asked.seq, given=asked.given, kept=kept)
        return
    yield _("No entry has the hash {given}.", given=asked.given)
    if asked.rescued:
        yield _(
            "From entry {rescued} on a rescue linked the log anew; a hash from before can't be found there.",
            rescued=asked.rescued,
        )
    if asked.given.seq is None:
        yield _("Enter the number next to the hash too, as --hash “57 XXXX ...”, and more can be said.")


def _not_held(found: Health, asked: HashLookup) -> str:
    if asked.given.seq is None:
        return _("no entry has that hash: it was rewritten or cut before that entry, or the hash is another job's")
    if asked.given.seq > found.entries:
        return _(
            "it ends at entry {entries}, and that hash is of entry {seq}: it was cut or put back",
            entries=found.entries,
            seq=asked.given.seq,
        )
    return _("entry {seq} has another hash: it was rewritten at that entry or before it", seq=asked.given.seq)
