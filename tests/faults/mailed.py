"""Jobs that came by mail, spoiled in every file: seen from outside, nothing but their own folder is touched."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import random
import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.journal import file, store
from gradecheck.journal.facts import PlanRevised
from gradecheck.journal.recovery import copying
from gradecheck.journal.recovery.private_copies import Opening
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.plan.load import plan_hash
from tests.faults.figures import Figures
from tests.faults.planted import cut_off, log_of, naming
from tests.faults.rows import command, named, site_with
from tests.journal.drafts import draft

NAME = "mailed"
QUICK, LONG = 24, 10_000
CONTROLS = 22
NAMES = (
    "../../start-up",
    "journal.db",
    "journal.db-journal",
    "journal.db-wal",
    "journal.backup-1.db",
    "Job.YAML",
    "a\nb",
)
"""What a list is called in a plan that a journal kept."""
LIST = "name,elevation\nW1,-1\n"

Spoil = Callable[["Mailed", random.Random], None]


class Mailed:
    """A job folder as it is sent, and what lies outside of it."""

    def __init__(self, root: Path) -> None:
        site = site_with(root / "made" / "yard", 3)
        other = site_with(root / "made" / "other", 2)
        self.site = site
        self.sent = {each.name: each.read_bytes() for each in site.folder.iterdir()}
        path = site.folder / JOURNAL_NAME
        self.half = cut_off(path, root / "made" / "a"), path.read_bytes()
        path.write_bytes(self.sent[JOURNAL_NAME])
        path.with_name(f"{JOURNAL_NAME}-journal").unlink()
        self.log = log_of(path, root / "made" / "b")
        self.foreign = cut_off(other.folder / JOURNAL_NAME, root / "made" / "c")
        self.theirs = self.sent[JOURNAL_NAME]
        self.plans_anywhere = [
            self._plan_anywhere(root / "made" / f"d{at}", path, name) for at, name in enumerate(NAMES)
        ]
        self.outside = root / "outside"
        self.job = self.outside / "inbox" / "yard"
        self.out = root / "out"
        self.temporary = root / "temporary"

    def _plan_anywhere(self, folder: Path, path: Path, name: str) -> bytes:
        """A sound journal whose last entry takes a plan over that has a list of such a name."""
        folder.mkdir()
        shutil.copy(path, folder)
        text = "job: a\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8}\n"
        text += f"areas: {{w: {{points: {json.dumps(name)}}}}}\n"
        fact = PlanRevised(plan_hash(text, {name: LIST}), text, {name: LIST})
        journal = store.Journal(folder / JOURNAL_NAME)
        journal.append([draft(fact, "anywhere")])
        journal.close()
        return (folder / JOURNAL_NAME).read_bytes()

    def lay_out(self) -> None:
        """The folder as it is sent, and outside of it files worth spoiling."""
        for each in (self.outside, self.out, self.temporary):
            shutil.rmtree(each, ignore_errors=True)
        self.job.mkdir(parents=True)
        self.out.mkdir()
        self.temporary.mkdir()
        for name, content in self.sent.items():
            (self.job / name).write_bytes(content)
        for name in ("start-up", "victim", "inbox/start-up"):
            (self.outside / name).write_text("as it was")
        (self.outside / "theirs.db").write_bytes(self.theirs)

    def side(self, end: str, content: bytes) -> None:
        """A file beside the journal."""
        _free(self.job / f"{JOURNAL_NAME}{end}").write_bytes(content)


def _free(path: Path) -> Path:
    if path.is_dir() and not path.is_symlink():
        path.rmdir()
    path.unlink(missing_ok=True)
    return path


def _flipped(mailed: Mailed, draw: random.Random) -> None:
    path = mailed.job / draw.choice(sorted(mailed.sent))
    if path.is_file() and not path.is_symlink():
        content = bytearray(path.read_bytes())
        content[draw.randrange(len(content))] ^= 1 << draw.randrange(8)
        _free(path).write_bytes(content)


def _in_log_mode(mailed: Mailed, _: random.Random) -> None:
    content = bytearray(mailed.sent[JOURNAL_NAME])
    content[18:20] = b"\2\2"
    _free(mailed.job / JOURNAL_NAME).write_bytes(content)


def _cut_off(mailed: Mailed, _: random.Random) -> None:
    mailed.side("-journal", mailed.half[0])
    _free(mailed.job / JOURNAL_NAME).write_bytes(mailed.half[1])


def _copy_with_a_side(mailed: Mailed, _: random.Random) -> None:
    rollback = naming(mailed.half[0], mailed.outside / "victim")
    _free(mailed.job / "journal.backup-1.db").write_bytes(mailed.half[1])
    _free(mailed.job / "journal.backup-1.db-journal").write_bytes(rollback)


def _head(mailed: Mailed, draw: random.Random) -> None:
    """Another figure in the head of a file that is one of SQLite's."""
    path = mailed.job / draw.choice((JOURNAL_NAME, "journal.backup-1.db"))
    if path.is_file() and not path.is_symlink():
        content = bytearray(path.read_bytes())
        at = draw.choice((16, 18, 19, 20, 24, 28, 32, 36, 44, 52, 56, 60, 68, 92, 96))
        content[at : at + 4] = draw.choice((b"\0\0\0\0", b"\0\0\0\1", b"\xff" * 4, draw.randbytes(4)))
        _free(path).write_bytes(content)


def _another_root(mailed: Mailed, draw: random.Random) -> None:
    """A table or an index that is said to lie where another one does."""
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        connection.deserialize(mailed.sent[JOURNAL_NAME])
        connection.execute("PRAGMA writable_schema=1")
        which = draw.choice(("entry", "entry_replaced_once", "sqlite_autoindex_entry_1"))
        change = "UPDATE sqlite_master SET rootpage = ? WHERE name = ?"
        connection.execute(change, (draw.choice((1, 2, 3, 4, 5, 99)), which))
        _free(mailed.job / JOURNAL_NAME).write_bytes(connection.serialize())


def _folder(mailed: Mailed, draw: random.Random) -> None:
    ends = ("", "-journal", "-wal", "-shm")
    name = draw.choice((*(f"{JOURNAL_NAME}{end}" for end in ends), "journal.backup-1.db", "journal.damaged-1"))
    _free(mailed.job / name).mkdir()


def _more_names(mailed: Mailed, draw: random.Random) -> None:
    """Names that look as if the program had left them, some of them leading out of the folder."""
    for name in ("journal.damaged-1", "journal.backup-2.db", f"{JOURNAL_NAME}.0a1b2c3d.new", ".0a1b2c3d.part"):
        path = _free(mailed.job / name)
        if draw.random() < 0.5:
            path.symlink_to(mailed.outside / "victim")
        elif path.suffix == ".new" and (mailed.job / JOURNAL_NAME).is_file():
            path.hardlink_to(mailed.job / JOURNAL_NAME)
        else:
            path.hardlink_to(mailed.outside / "theirs.db")


def _linked_plan(mailed: Mailed, _: random.Random) -> None:
    _free(mailed.job / "job.yaml").symlink_to(mailed.outside / "victim")


def _pipe(mailed: Mailed, draw: random.Random) -> None:
    os.mkfifo(_free(mailed.job / f"{JOURNAL_NAME}{draw.choice(('-journal', '-wal', '-shm'))}"))


SPOILS: dict[str, Spoil] = {
    "a super-journal": lambda m, _: m.side("-journal", naming(m.half[0], m.outside / "victim")),
    "another's rollback journal": lambda m, _: m.side("-journal", m.foreign),
    "a write cut off": _cut_off,
    "noise": lambda m, draw: m.side(draw.choice(("-journal", "-wal", "-shm")), draw.randbytes(draw.randint(0, 9999))),
    "a torn rollback journal": lambda m, draw: m.side("-journal", m.half[0][: draw.randint(0, len(m.half[0]))]),
    "a log": lambda m, _: m.side("-wal", m.log),
    "a log cut short": lambda m, draw: m.side("-wal", m.log[: draw.randint(0, len(m.log))]),
    "a pipe": _pipe,
    "a link": lambda m, _: _free(m.job / JOURNAL_NAME).symlink_to(m.outside / "theirs.db"),
    "a second name": lambda m, _: _free(m.job / JOURNAL_NAME).hardlink_to(m.outside / "theirs.db"),
    "a side that is a link": lambda m, _: _free(m.job / f"{JOURNAL_NAME}-journal").symlink_to(m.outside / "victim"),
    "log mode": _in_log_mode,
    "a plan from anywhere": lambda m, draw: (
        _free(m.job / JOURNAL_NAME).write_bytes(draw.choice(m.plans_anywhere)) and None
    ),
    "a copy that is a link": lambda m, _: _free(m.job / "journal.backup-1.db").symlink_to(m.outside / "theirs.db"),
    "a copy with a side": _copy_with_a_side,
    "no journal": lambda m, _: _free(m.job / JOURNAL_NAME) and None,
    "a bit": _flipped,
    "a head": _head,
    "another root": _another_root,
    "a folder": _folder,
    "more names": _more_names,
    "a plan that is a link": _linked_plan,
}
"""What is done to a folder before it is sent; often more than one of them."""


def tree(folder: Path, without: Path | None = None) -> dict[str, str]:
    """Everything in a folder: files by the hash of their content, links by where they lead."""
    found = {}
    for place, folders, files in os.walk(folder):
        if without is not None and Path(place) == without:
            folders.clear()
            continue
        for name in (*folders, *files):
            path = Path(place) / name
            if path.is_symlink():
                found[str(path)] = f"link to {os.readlink(path)}"
            elif path.is_file():
                found[str(path)] = hashlib.sha256(path.read_bytes()).hexdigest()
            else:
                found[str(path)] = "folder" if path.is_dir() else "no file"
    return found


def run(folder: Path, runs: int, seed: int) -> list[Figures]:
    """That many folders, and as a control some that are opened without a look at what lies beside."""
    return [open_all(folder / "as it is", runs, seed), open_all(folder / "trusting", CONTROLS, seed, trusting=True)]


def open_all(root: Path, runs: int, seed: int, *, trusting: bool = False) -> Figures:
    """Sends folders and has each looked at with a few commands; `trusting` gives all of it to SQLite."""
    root.mkdir(parents=True)
    counts = Counter(folders=0, commands=0, saved=0, refused=0, outside=0, touched=0, foreign=0, left=0)
    example = ""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GRADECHECK_SETTINGS", str(root / "settings"))
        patch.setenv("GRADECHECK_CACHE", str(root / "cache"))
        mailed = Mailed(root)
        patch.setattr(tempfile, "tempdir", str(mailed.temporary))
        if trusting:
            patch.setattr(store, "how_to_open", lambda _: Opening(strange=False))
            for module in (store, file, copying):
                patch.setattr(module, "check", lambda *_: None)
            patch.setattr(file, "refuse_no_file", lambda *_: None)
        for number in range(runs):
            draw = random.Random(f"{seed}/{number}")
            names = [list(SPOILS)[number % len(SPOILS)], *draw.sample(list(SPOILS), draw.choice((0, 0, 1, 2)))]
            if trusting:  # SQLite itself waits at a pipe for ever
                names = [name for name in names if name != "a pipe"]
            mailed.lay_out()
            for name in names:
                SPOILS[name](mailed, draw)
            shutil.rmtree(root / "settings" / "jobs", ignore_errors=True)
            counts["folders"] += 1
            wrong = _look(mailed, draw, counts)
            if wrong and not example:
                example = f"seed {seed}, folder {number} with {', '.join(names)}: {wrong}"
    bad = sum(counts[each] for each in ("outside", "touched", "foreign", "left"))
    what = "all that lies beside is given to SQLite" if trusting else "folders spoiled in every file"
    return Figures(NAME, what, dict(counts), bad, control=trusting, example=example)


def _look(mailed: Mailed, draw: random.Random, counts: Counter[str]) -> str:
    job, out = mailed.job, mailed.out
    verbs: dict[str, tuple[object, ...]] = {
        "log": (job,),
        "verify": (job,),
        "targets": (job,),
        "copy": (job, out / "copy"),
        "rescue": (job, "-o", out / "rescued.db"),
        "read": (job, *named(mailed.site, 3, 4), "--by", "RK"),
        "report": (job, "-o", out / "day.json"),
        "review": (job,),
        "rescue in place": (job, "--in-place"),
        "verify against": (mailed.site.folder, "--against", job),
        "plan": (job, "-o", out / "sheet.txt"),
        "changes": (job, "--as-text"),
    }
    wrong = ""
    for verb in draw.sample(list(verbs), 3):
        outside, inside = tree(mailed.outside, without=job), tree(job)
        counts["commands"] += 1
        try:
            code = command(verb.partition(" ")[0], *verbs[verb]).code
        except Exception as failed:  # noqa: BLE001 - whatever it is, it is not for people
            counts["foreign"] += 1
            wrong = wrong or f"{verb} ended with {failed!r}"
            continue
        saved = code in (0, 1) and verb in ("read", "rescue in place")
        counts["saved"] += saved
        counts["refused"] += code == 2
        if tree(mailed.outside, without=job) != outside:
            counts["outside"] += 1
            wrong = wrong or f"{verb} touched what lies outside"
        if not saved and tree(job) != inside:
            counts["touched"] += 1
            wrong = wrong or f"{verb} touched the folder without saving"
        if any(mailed.temporary.iterdir()):
            counts["left"] += 1
            wrong = wrong or f"{verb} left a private copy behind"
    return wrong
