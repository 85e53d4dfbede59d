"""Whether a log is as it was written, in sentences: what it was compared with, and from where on it is another."""

from __future__ import annotations

from collections.abc import Iterator

from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.against import Held, Outcome, differences
from gradecheck.journal.recovery.health import Asked, Health
from gradecheck.journal.short_hash import short
from gradecheck.measure.printed import count
from gradecheck.report.log import briefly

MOST = 5
"""Entries that a rescue lost, told one by one; of more only the number is."""
_RECORDED = {"fact": "what was done", "typed": "what was entered", "at": "its time", "by": "its initials",
             "offset": "its clock", "clock": "its clock", "laptop": "its laptop", "window": "its window",
             "version": "its version", "plan": "its plan", "id": "its id",
             "knows": "what it knew of other laptops"}  # fmt: skip


def fault(found: Health) -> str | None:
    """What is wrong, in one sentence without its end; None where nothing is."""
    if found.fault is not None:
        return found.fault
    bad = [each for each in found.held if each.bad]
    if bad:
        first = min(bad, key=lambda each: each.first)
        called = f"its copy {first.name}" if first.is_copy else first.name
        if first.outcome is Outcome.RESCUED:
            return f"{called} still holds entry {first.missing[0].seq}, which a rescue could not save here"
        if first.outcome is Outcome.ENDS_EARLIER:
            return f"it ends at entry {first.first - 1}, but {called} goes on to entry {first.last}"
        return f"from entry {first.first} on it differs from {called}"
    if found.asked is not None and not found.asked.seq:
        return _not_held(found, found.asked)
    return None


def lines(found: Health, job: object) -> Iterator[str]:
    """All that there is to say, a sentence or two each; `job` is how its folder was named."""
    if (wrong := fault(found)) is None:
        yield f"Sound: {found.entries} entries, last hash {found.last_hash[:16]}."
        if found.entries:
            yield f"Hash of entry {found.entries} to read out: {short(found.last_hash)}"
        if found.theirs:
            yield f"Of other laptops: {count(found.theirs, 'entry', 'entries')}, each as it was written there."
    else:
        yield f"Not sound: {wrong}"
    if found.fault is not None and (found.entries or found.behind):
        yield f"Sound up to entry {found.entries}; {found.behind} more after that can be saved."
        yield from (f"Lost: {each}" for each in found.lost)
        yield f"To save what is good in a new log: gradecheck rescue {job} -o NEW"
    for held in found.held:
        yield from _compared(found, held)
    if found.asked is not None:
        yield from _asked(found, found.asked)
    if wrong is not None:
        if any(each.bad for each in found.held):
            yield "Keep both, and find out which one is right before going on."
        yield from map(str, found.copies)
        if not found.copies:
            yield "No copy is kept beside it."


def _compared(found: Health, held: Held) -> Iterator[str]:
    since = found.entries - held.last
    if held.damaged:
        yield f"{held.name}: damaged from entry {held.damaged} on; what can be read of it was compared."
    match held.outcome:
        case Outcome.AGREES if found.fault is not None:
            return
        case Outcome.AGREES if held.damaged:
            yield f"{held.name}: nothing that can be read of it is different."
        case Outcome.AGREES if since > 0:
            yield f"{held.name}: the same up to its last entry, {held.last}; {since} more here since."
        case Outcome.AGREES:
            yield f"{held.name}: the same, all {held.last} entries."
        case Outcome.ENDS_EARLIER:
            yield f"{held.name}: the same up to entry {held.first - 1}. Here it was cut, or an older log put back."
            yield f"Entry {held.first} there: {_told(held.there)}"
        case Outcome.DIFFERS:
            before, why = "nothing is the same", "It is another job's log, or one of the two was rewritten."
            if held.first > 1:
                before = f"the same up to entry {held.first - 1}"
                why = "One of the two was rewritten, or work went on in both."
            yield f"{held.name}: {before}. {why}"
            yield f"Entry {held.first} there: {_told(held.there)}"
            yield f"Entry {held.here.seq if held.here else held.first} here: {_told(held.here, held.there)}"
        case Outcome.RESCUED:
            yield f"{held.name}: from entry {held.first} on a rescue linked the log anew; what it saved is the same."
            yield from (f"Entry {each.seq} is there and not here: {_told(each)}" for each in held.missing[:MOST])
            if len(held.missing) > MOST:
                yield f"So are {len(held.missing) - MOST} more, up to entry {held.missing[-1].seq}."
        case Outcome.NOT_READ:
            yield f"{held.name}: not compared. {held.why}"


def _told(entry: Entry | None, beside: Entry | None = None) -> str:
    if entry is None:
        return "none."
    told = briefly(entry)
    if beside is not None and told == briefly(beside):
        return (
            f"{told}; {' and '.join(dict.fromkeys(map(_RECORDED.__getitem__, differences(entry, beside))))} differ."
        )
    return f"{told}."


def _asked(found: Health, asked: Asked) -> Iterator[str]:
    if asked.seq:
        kept = "so does every entry before it" if found.fault is None else "what is wrong is told above"
        yield f"Entry {asked.seq} still has the hash {asked.given}; {kept}."
        return
    yield f"No entry has the hash {asked.given}."
    if asked.rescued:
        yield f"From entry {asked.rescued} on a rescue linked the log anew; a hash from before can't be found there."
    if asked.given.seq is None:
        yield "Enter the number that stands with the hash too, as --hash “57 XXXX ...”, and more can be said."


def _not_held(found: Health, asked: Asked) -> str:
    if asked.given.seq is None:
        return "no entry has that hash: it was rewritten or cut before that entry, or the hash is another job's"
    if asked.given.seq > found.entries:
        return (
            f"it ends at entry {found.entries}, and that hash is of entry {asked.given.seq}: it was cut or put back"
        )
    return f"entry {asked.given.seq} has another hash: it was rewritten at that entry or before it"
