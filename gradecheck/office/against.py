"""A log held against an office's server: its entries, and every end of a laptop's log that was ever seen there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.joining.names import identity
from gradecheck.journal.facts import Entry
from gradecheck.journal.recovery.against import Comparison, Outcome, ReadChain
from gradecheck.office import jobs as offices
from gradecheck.office.address import Address
from gradecheck.office.chains import chains, fetch, hashes_of
from gradecheck.office.confirmed import confirmed
from gradecheck.office.connection import BrokenOffError, Link, RefusedError
from gradecheck.office.share import why_refused
from gradecheck.sharing.against import Compared, There, held_against, plans_known, written_by


def at_office(at: Address, job: Path, laptop: str, compared: Compared) -> Callable[[ReadChain], Iterable[Comparison]]:
    """Holds a log against what lies on that server. What that raises is a Refusal."""

    def held(ours: ReadChain) -> Iterable[Comparison]:
        try:
            with Link(at) as link:
                return [*_held(link, job, laptop, ours, compared)]
        except BrokenOffError as wrong:
            why = str(wrong)
        except RefusedError as wrong:
            why = why_refused(wrong)
        raise Refusal(_("Nothing was compared ({why}); try again when that is fixed.", why=why))

    return held


def _held(link: Link, job: Path, laptop: str, ours: ReadChain, compared: Compared) -> Iterable[Comparison]:
    known = confirmed(job, link.at)
    here = dict.fromkeys((*ours.hashes.values(), *ours.taken), ())
    first = {ours.hashes[1]: (*[""] * 14, "0" * 64, ours.hashes[1])} if 1 in ours.hashes else {}
    office = offices.job_of(link, known.job, plans_known(job, ours), first)
    there = chains(link, office.id)
    found = fetch(link, office.id, there, known.ends, here)
    hashes, sent = set[str](), set[str]()
    for chain in there:
        of_it = {digest for _number, digest in hashes_of(link, office.id, chain)}
        hashes |= of_it
        sent |= of_it if chain.role == link.user else set()
    written = written_by(ours, laptop)

    def is_own(entry: Entry) -> bool:
        return entry.hash in sent or written(entry)

    # What was there at the last share was here then: entries of others that are gone from the log were cut off it.
    was_here = {seen.hash for seen in known.ends.values()}
    rows = found.rows
    yield from held_against(
        str(link.at),
        ours,
        There(hashes, rows, lambda entry: is_own(entry) or entry.hash in was_here, found.less),
        compared,
    )
    for name, number, digest in link.rows(
        "select laptop, number, hash from gradecheck.head where job = %s order by number", (office.id,)
    ):
        if identity(name) == identity(laptop) and digest.hex() not in here and digest.hex() not in rows:
            # Its entries never came, only that they were there.
            outcome = Outcome.DIFFERS if number <= ours.last else Outcome.ENDS_EARLIER
            yield Comparison(str(link.at), outcome, number, number, ours.at(number))
