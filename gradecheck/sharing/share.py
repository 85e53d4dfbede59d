"""One share: theirs is taken in, ours is put there. What goes wrong on the way is told; what was done stays done."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from gradecheck.catalogue import _, plural
from gradecheck.joining.history import START
from gradecheck.journal.chain import Row, UnsoundEntryError, from_row
from gradecheck.journal.facts import KIND_OF, Entry, PlanRevised, Rehearsed
from gradecheck.journal.store import NotSavedError
from gradecheck.session.session import Session
from gradecheck.sharing.last_copy import LastCopy, last_copy
from gradecheck.sharing.meeting_place import MeetingPlace, TooLargeError
from gradecheck.sharing.plans import OfficePlan, given, keys, lay_beside, plans_there, publish
from gradecheck.sharing.progress import progress, put_progress
from gradecheck.sharing.row_files import (
    MOST_ROWS,
    Name,
    NotWholeError,
    hash_of,
    key,
    named,
    packed,
    pieces,
    row_in,
    unpacked,
)

_OF_THE_FILE = (errno.EINVAL, errno.ELOOP, errno.EACCES, errno.EPERM, errno.ENXIO, errno.EISDIR)
"""What is wrong with a single file: a link, a pipe, one that nobody may read. All else is wrong with the folder."""
MOST_SMALL = 64
"""Files with few entries of one laptop; of more, it puts its own together into one, and then takes those away."""


@dataclass(slots=True)
class Shared:
    """What came of a share."""

    taken: int = 0
    """Entries that are new here."""
    put: int = 0
    """Entries that are new there."""
    there: int = 0
    """Entries of this job that are there now, whole."""
    half_there: list[str] = field(default_factory=list)
    """Files that are not, or not yet, what their names say."""
    not_sound: list[str] = field(default_factory=list)
    """What does not hold, or is of another job, in words."""
    trouble: str = ""
    """Why not all of ours could be put there."""
    plans: set[str] = field(default_factory=set)
    """The plans that the job follows or followed, by their hashes."""
    planned: bool = False
    """Whether a plan of the office is there."""
    office: tuple[int, str] = (0, "")
    """Number and hash of the office's plan that was put in place here, or given out from here."""
    not_in_place: tuple[int, str] = (0, "")
    """Number of the office's plan that was not put in place of the job file here, and why."""
    less: list[str] = field(default_factory=list)
    """What was there once, as the other side said then, and is not now, in sentences."""
    not_on_board: str = ""
    """Why the board was not told how far the job is."""

    @property
    def is_whole(self) -> bool:
        """Whether all that is here is there too."""
        return not self.trouble


@dataclass(slots=True)
class SharedEntries:
    """What is in the files of this job: the entries by their hashes, and which file holds which."""

    rows: dict[str, Row] = field(default_factory=dict)
    files: dict[str, list[str]] = field(default_factory=dict)
    read: dict[str, Entry] = field(default_factory=dict)
    """What is in those that are new here, by their hashes."""
    whole: set[str] = field(default_factory=set)
    """The files in which nothing is that does not hold."""


def share(session: Session, folder: Path, *, gives_plan: bool = False, also: Callable[[], set[str]] = set) -> Shared:
    """Takes in what is in the folder and puts there what is not. Raises `OSError` where it can't be looked at.

    Entries of this job that are new here are taken in by the same door as those of `join`. The office's plan is put
    in place of the job file, from where it is offered; the office itself `gives_plan`, and where it knows
    nothing of what is there, `also` says which plans are of the job. Raises Refusal where the plan can't be given.
    """
    shared = Shared()
    if gives_plan:
        given(session)  # before anything is done
    with MeetingPlace(folder) as place:
        ours = {row[-1]: row for row in session.journal.rows()}
        before = last_copy(session.folder)
        plans = plans_of(session, ours) | set(before.plans)
        if gives_plan and not of_job(place.names(), plans):
            plans |= also()
        found = _found(place, plans, ours, shared)
        take_in(session, found.rows, found.read, ours, shared)
        ours |= {digest: row for digest, row in found.rows.items() if digest not in ours}
        if not shared.trouble:
            try:
                _put(place, session, ours, found, shared)
                shared.plans = plans_of(session, ours) | plans
                _plans(place, session, ours, before, shared, gives_plan=gives_plan)
            except OSError as wrong:
                shared.trouble = system_reason(wrong)
        if not shared.trouble and (shared.there or shared.planned):
            first = next((digest for digest, row in ours.items() if row[-2] == START), "")
            try:
                put_progress(place, progress(session), first)
            except OSError as wrong:  # nothing recorded is lost by that
                shared.not_on_board = system_reason(wrong)
    return shared


def _plans(
    place: MeetingPlace,
    session: Session,
    ours: Mapping[str, Row],
    before: LastCopy,
    shared: Shared,
    *,
    gives_plan: bool,
) -> None:
    # By what entries of this job say themselves; what files are called anybody may have written.
    there = plans_there(place, place.names(), keys(shared.plans), shared.half_there, shared.not_sound)
    given_out = None
    if gives_plan:
        known = (*sorted(plans_in(ours.values())), *before.plans, session.digest)
        given_out = publish(place, session, known[0], there)
    settle_plan(session, ours, before, shared, there, given_out)


def settle_plan(
    session: Session,
    ours: Mapping[str, Row],
    before: LastCopy,
    shared: Shared,
    there: Sequence[OfficePlan],
    given_out: OfficePlan | None,
) -> None:
    """Puts the newest of the office's plans in place of the job file, unless one was given out from here."""
    shared.planned = bool(there) or given_out is not None
    if given_out is not None:
        shared.office = given_out.number, given_out.loaded.digest
        shared.plans.add(given_out.loaded.digest)
    elif there and (newest := there[-1]).number > before.number:
        if why := lay_beside(session, newest, ours.values(), there):
            shared.not_in_place = newest.number, why
        else:
            shared.office = newest.number, newest.loaded.digest
            shared.plans.add(newest.loaded.digest)


def is_of_the_file(wrong: OSError) -> bool:
    """Whether a single file is what can't be read, not the folder."""
    return wrong.errno in _OF_THE_FILE


def system_reason(wrong: OSError) -> str:
    """Why the system refused something, in its words."""
    return (wrong.strerror or str(wrong)).lower()


def plans_of(session: Session, rows: Mapping[str, Row]) -> set[str]:
    """The hashes of the plans that the job follows or followed; by those, files are named."""
    return {session.digest, *plans_in(rows.values())}


def plans_in(rows: Iterable[Row]) -> set[str]:
    """The hashes of the plans that entries accepted, or were judged by."""
    found = set()
    for row in rows:
        found.add(row[11])
        if row[5] == KIND_OF[PlanRevised]:
            fact = from_row(row).fact
            if isinstance(fact, PlanRevised):
                found.add(fact.digest)
    return found


def of_job(names: Sequence[str], plans: set[str]) -> dict[str, Name]:
    """The files of the job that follows those plans: named by one of them, or by a chain that such a file is of."""
    files = {name: said for name in names if (said := named(name)) is not None}
    jobs, chains = {key(each) for each in plans}, set[str]()
    while True:
        mine = {name: said for name, said in files.items() if said.job in jobs or said.chain in chains}
        before = len(jobs), len(chains)
        jobs |= {said.job for said in mine.values()}
        chains |= {said.chain for said in mine.values()}
        if before == (len(jobs), len(chains)):
            return mine


def _found(place: MeetingPlace, plans: set[str], ours: Mapping[str, Row], shared: Shared) -> SharedEntries:
    names = place.names()
    place.tidy(names)
    found = SharedEntries()
    for name, said in of_job(names, plans).items():
        wrong_before = len(shared.not_sound)
        try:
            rows = read_rows(place, name, said, ours, shared, found.read)
        except OSError as wrong:
            shared.trouble = system_reason(wrong)
            break
        found.files[name] = [row[-1] for row in rows]
        if len(shared.not_sound) == wrong_before:
            found.whole.add(name)
        for row in rows:
            found.rows.setdefault(row[-1], row)
    strange = not_of_job(found.rows, ours, plans)
    if strange:
        for name, hashes in list(found.files.items()):
            if any(each in strange for each in hashes):
                shared.not_sound.append(_("{name}: it is of another job", name=name))
                del found.files[name]
        for digest in strange:
            del found.rows[digest]
    return found


def read_rows(
    place: MeetingPlace,
    name: str,
    said: Name,
    known: Mapping[str, Row],
    shared: Shared,
    read: dict[str, Entry] | None = None,
) -> list[Row]:
    """The entries of one file that hold; what is wrong with it is noted. Those not known are put into `read` too."""
    rows: list[Row] = []
    try:
        lines = unpacked(place.read(name), said.digest)
    except NotWholeError:
        shared.half_there.append(name)
        return []
    except TooLargeError:
        shared.not_sound.append(_("{name}: it is too large", name=name))
        return []
    except UnsoundEntryError as wrong:
        shared.not_sound.append(f"{name}: {wrong.says}")
        return []
    except FileNotFoundError:
        return []  # put together with others meanwhile
    except OSError as wrong:
        if not is_of_the_file(wrong):
            raise
        shared.not_sound.append(f"{name}: {system_reason(wrong)}")
        return []
    for line in lines:
        try:
            rows.append(row_in(line, known, read))
        except UnsoundEntryError as wrong:
            entry = _("entry {seq}: ", seq=wrong.seq) if wrong.seq != "" else ""
            shared.not_sound.append(f"{name}: {entry}{wrong.says}")
            break  # one that does not hold was made by someone: nothing behind it is worth more
    return rows


def not_of_job(rows: Mapping[str, Row], ours: Mapping[str, Row], plans: set[str]) -> set[str]:
    """The hashes of the entries that hang on nothing of this job: not on an entry of it, nor on one of its plans.

    Entries that hang together are of one job, all of them or none.
    """
    group: dict[str, str] = {}

    def top(digest: str) -> str:
        while (above := group.setdefault(digest, digest)) != digest:
            group[digest] = group[above]
            digest = above
        return digest

    for digest, row in rows.items():
        for other in (row[-2], *(head.hash for head in from_row(row).knows)) if _knows(row) else (row[-2],):
            if other != START:
                group[top(digest)] = top(other)
        top(digest)
    follows: dict[str, set[str]] = {}
    ours_too = set()
    for digest, row in rows.items():
        follows.setdefault(top(digest), set()).update(plans_in([row]))
    for digest in list(group):
        if digest in ours:
            ours_too.add(top(digest))
    plans, left = set(plans), dict(follows)
    while mine := [each for each in left if each in ours_too or left[each] & plans]:
        for each in mine:
            plans |= left.pop(each)
    made_up = {top(digest) for digest, row in rows.items() if row[5] == KIND_OF[Rehearsed]}
    return {
        digest for digest in rows if top(digest) in left or (top(digest) in made_up and top(digest) not in ours_too)
    }


def _knows(row: Row) -> bool:
    return str(row[13]).startswith('{"knows":')


def take_in(
    session: Session, rows: Mapping[str, Row], read: Mapping[str, Entry], ours: Mapping[str, Row], shared: Shared
) -> None:
    """Keeps those of the entries that are new here; `read` is what is in them, by their hashes."""
    new = [row for digest, row in rows.items() if digest not in ours]
    # Some at a time: whoever enters a reading meanwhile does not wait for all of them.
    for begin in range(0, len(new), MOST_ROWS):
        try:
            shared.taken += session.journal.take_in(new[begin : begin + MOST_ROWS], read)
        except NotSavedError as wrong:  # what is here goes there all the same
            shared.not_sound.append(
                plural(len(new) - begin, "{n} entry: {wrong}", "{n} entries: {wrong}", wrong=wrong)
            )
            break
    if shared.taken:
        session.catch_up()


def _put(
    place: MeetingPlace, session: Session, ours: Mapping[str, Row], found: SharedEntries, shared: Shared
) -> None:
    shared.there = sum(digest in found.rows for digest in ours)
    new = [row for digest, row in ours.items() if digest not in found.rows]
    small = _own_small(session.laptop, found)
    if len(small) <= MOST_SMALL:
        small = []
    together = {digest: found.rows[digest] for name in small for digest in found.files[name]}
    written = _write(place, session.digest, ours, [*new, *together.values()])
    shared.put += len(new)
    shared.there += len(new)
    for name in small:
        if name not in written:
            place.remove(name)


def _own_small(laptop: str, found: SharedEntries) -> list[str]:
    """The whole files that hold few entries, all of them written by this laptop."""
    own = []
    for name, hashes in found.files.items():
        few = 0 < len(hashes) < MOST_ROWS // 2
        if name in found.whole and few and laptop and all(found.rows[digest][2] == laptop for digest in hashes):
            own.append(name)
    return own


def _write(place: MeetingPlace, plan: str, ours: Mapping[str, Row], rows: list[Row]) -> set[str]:
    """Puts entries there; returns the names of their files, each of them whole there by then."""
    roots = _roots(ours) if rows else {}
    written = set()
    for piece in pieces(rows):
        name, content = packed(piece, plan, roots[piece[0][-1]])
        said = named(name)
        assert said is not None
        place.put(name, content, said.digest)
        if hash_of(place.read(name)) != said.digest:
            raise OSError(errno.EIO, _("what was written there is not what is read from there"))
        written.add(name)
    return written


def _roots(rows: Mapping[str, Row]) -> dict[str, str]:
    """The first entry of the chain of each, or the first that there is of it."""
    roots: dict[str, str] = {}
    for digest in rows:
        way = []
        while digest not in roots and rows[digest][-2] in rows:
            way.append(digest)
            digest = rows[digest][-2]
        root = roots.setdefault(digest, digest)
        roots |= dict.fromkeys(way, root)
    return roots
