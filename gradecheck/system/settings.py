"""What this laptop knows about itself outside any job, and what the person at it likes: ``settings.toml``."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.language import FILE, LANGUAGES, LARGEST
from gradecheck.places import make_folders, remove, write
from gradecheck.sealed import seal, unseal

LAPTOP = "laptop"
"""The file with this laptop's id."""


def folder() -> Path:
    """Where it is kept; ``GRADECHECK_SETTINGS`` names another place."""
    if named := os.environ.get("GRADECHECK_SETTINGS"):
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("gradecheck", appauthor=False)


def path() -> Path:
    """The file that a person writes."""
    return folder() / FILE


def made_here(job: Path) -> bool:
    """Whether this laptop made the journal in that folder, or saved into it since."""
    with contextlib.suppress(OSError, ValueError):
        return _mark(job).read_text(encoding="ascii") == _which(job)
    return False


def remember(job: Path) -> None:
    """Notes that this laptop makes the journal in that folder; where it can't, the folder stays a stranger's."""
    with contextlib.suppress(OSError, ValueError):
        mark = _mark(job)
        make_folders(mark.parent)
        write(mark, _which(job).encode(), durable=False)


def forget(job: Path) -> None:
    """Notes that a job begins anew in that folder."""
    with contextlib.suppress(OSError, ValueError):
        remove(_mark(job))


def _mark(job: Path) -> Path:
    name = hashlib.sha256(os.path.realpath(job).encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return folder() / "jobs" / name


def _which(job: Path) -> str:
    """The folder itself, whatever has its name later."""
    status = os.stat(job)
    return f"{status.st_dev} {status.st_ino}"


def laptop_id() -> str:
    """A random id that stays with this laptop, so that merged journals tell whose entry is whose.

    One that is not as it was written is given up for a new one: another laptop might have it.
    """
    path = folder() / LAPTOP
    known = ""
    with contextlib.suppress(OSError, ValueError):
        kept = path.read_bytes()
        if (sealed := unseal(kept, LAPTOP)) is not None:
            return sealed.decode("ascii")
        known = _as_written_before(kept)
    known = known or str(uuid.uuid4())
    with contextlib.suppress(OSError):  # without a home to write to, each start is a laptop of its own
        make_folders(path.parent)
        write(path, seal(known.encode("ascii"), LAPTOP))
    return known


def this_laptop() -> str:
    """How this laptop signs its entries: its id, after the name that its settings give it, if they do."""
    name = read_settings().laptop
    return f"{name}{BETWEEN}{laptop_id()}" if name else laptop_id()


def _as_written_before(kept: bytes) -> str:
    """The id alone on its line, as it was kept before it had a hash; empty where it is anything else."""
    written = kept.decode("ascii")
    return written.strip() if written == f"{uuid.UUID(written.strip())}\n" else ""


THEMES = ("sun", "night", "plain")
STAY, GO_ON, UNTIL_ON_GRADE = "stay", "go on", "stay until on grade"
"""What comes after a reading: the same point, the next one, or the same one until it is on grade."""
AFTER_A_READING = (STAY, GO_ON, UNTIL_ON_GRADE)
LONGEST_INITIALS = 8
LONGEST_NAME = 20
"""Letters of a laptop's name, which is written behind those of its marks."""
BETWEEN = "/"
"""Between a laptop's name and its id where entries say who wrote them; no name has one."""
MINUTES_OF_A_DAY = 1440


@dataclass(frozen=True, slots=True)
class Settings:
    """What the person at this laptop likes; `faults` are sentences on what of the file could not be taken."""

    theme: str = ""
    initials: str = ""
    after_a_reading: str = UNTIL_ON_GRADE
    bell: bool = False
    """One bell on grade, two cut, three fill."""
    mouse: bool = False
    laptop: str = ""
    """What this laptop is called, as ``north crew``: where several record one job, its marks are named by it."""
    copy_to: str = ""
    """Where laptops meet, or where the copy off the laptop lies: a folder, or an office's address; empty for none."""
    share_every: int = 10
    """Minutes."""
    language: str = ""
    """Of what people read, as `gradecheck.language` has them; empty for that of the machine."""
    keys: Mapping[str, str] = field(default_factory=dict)
    """Keys in place of ours, by their meanings in `gradecheck.system.keymap`."""
    came: Mapping[str, str] = field(default_factory=dict, compare=False)
    """Where each value came from that is not the program's own: the file, or a variable's name."""
    faults: tuple[str, ...] = ()

    @property
    def meets_at(self) -> Path | str | None:
        """That folder, or the office's address as it was written; None where there is none."""
        if names_server(self.copy_to):
            return self.copy_to
        return Path(self.copy_to).expanduser() if self.copy_to else None


def read_settings(place: Path | None = None, environ: Mapping[str, str] | None = None) -> Settings:
    """The settings in that folder, by default this laptop's, with what variables say in their place.

    One rule over all: an option goes before a variable, a variable before the file, the file before the program's
    own. A value that is wrong is told, and what comes behind it in that order used.
    """
    settings = _of_file((folder() if place is None else place) / FILE)
    taken: dict[str, object] = {}
    came, faults = dict(settings.came), [*settings.faults]
    for key, known in KEYS.items():
        written = (os.environ if environ is None else environ).get(known.variable(key), "")
        if not written:
            continue
        value = known.of_text(written)
        if not known.fits(value):
            faults.append(f"{known.variable(key)}: {key} {known.says}.")
        else:
            taken[known.field], came[key] = value, known.variable(key)
    return replace(settings, came=came, faults=tuple(faults), **taken)  # type: ignore[arg-type]  # each fits


def _of_file(path: Path) -> Settings:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST)
    except FileNotFoundError:
        return Settings()
    except (OSError, ValueError) as wrong:
        return Settings(
            faults=(
                _("{path} can't be read: {reason}.", path=path, reason=getattr(wrong, "strerror", None) or wrong),
            )
        )
    try:
        text, given = parsed(content)
    except ValueError as wrong:
        return Settings(faults=(f"{path}, {wrong}",))
    settings, faults = understood(text, given)
    came = {key: str(path) for key in given if key in KEYS and KEYS[key].fits(given[key])}
    came |= dict.fromkeys((f"{TABLE}.{meaning}" for meaning in settings.keys), str(path))
    return replace(settings, came=came, faults=tuple(f"{path}, {fault}" for fault in faults))


def parsed(content: bytes) -> tuple[str, dict[str, object]]:
    """The text of a settings file, and what TOML reads in it. Raises `ValueError` with line and column."""
    import tomllib  # few have a settings file

    try:
        text = content.decode("utf-8-sig")
        return text, tomllib.loads(text)
    except UnicodeDecodeError as wrong:
        before = content[: wrong.start]
        line, column = before.count(b"\n") + 1, wrong.start - (before.rfind(b"\n") + 1) + 1
        raise ValueError(
            _("line {line}, column {column}: this is not UTF-8 text.", line=line, column=column)
        ) from None
    except tomllib.TOMLDecodeError as wrong:
        raise ValueError(_not_toml(str(wrong), text)) from None
    except RecursionError:
        raise ValueError(_("line 1, column 1: more brackets in each other than anyone writes.")) from None


def understood(text: str, given: Mapping[str, object], table: str = "") -> tuple[Settings, list[str]]:
    """The settings in what TOML read in that text, and what is wrong with others, each with its line and column.

    `table` is the one that they stand in, empty for those at the top.
    """
    taken: dict[str, object] = {}
    faults = []
    for key, value in given.items():
        if key == TABLE and not table:
            from gradecheck.system import keymap

            taken["keys"], wrong = keymap.understood(
                value,
                lambda meaning, of_key: position(text, meaning or TABLE, TABLE if meaning else "", of_key=of_key),
            )
            faults += wrong
        elif key not in KEYS:
            faults.append(
                _(
                    "{at}: there is no setting “{key}”.{meant}",
                    at=position(text, key, table, of_key=True),
                    key=key,
                    meant=_near(key),
                )
            )
        elif not KEYS[key].fits(value):
            faults.append(f"{position(text, key, table)}: {key} {KEYS[key].says}.")
        else:
            taken[KEYS[key].field] = value
    return replace(Settings(), **taken), faults  # type: ignore[arg-type]  # each was held against its own kind


def _one_of(*names: str) -> Callable[[object], bool]:
    return lambda value: isinstance(value, str) and value in names


def _is_bool(value: object) -> bool:
    return isinstance(value, bool)


def names_server(text: str) -> bool:
    """Whether that is meant as the address of a server, and not as a folder."""
    return _SERVER.match(text) is not None


_SERVER = re.compile(r"\s*postgres(?:ql)?\s*:", re.IGNORECASE)


def _is_place(value: object) -> bool:
    """Whether it names one wherever the program is started; whether it is there is told when it is shared by."""
    if not (isinstance(value, str) and value.isprintable() and value == value.strip()):
        return False
    if names_server(value):
        return True
    try:
        return Path(value).expanduser().is_absolute()
    except RuntimeError:  # nobody has that home
        return False


def _is_minutes(value: object) -> bool:
    return type(value) is int and 1 <= value <= MINUTES_OF_A_DAY


def _is_initials(value: object) -> bool:
    return isinstance(value, str) and value.isalnum() and value[:1].isalpha() and len(value) <= LONGEST_INITIALS


def _is_name(value: object) -> bool:
    """Letters and figures, with a space, a hyphen or a period between; nothing that would read as part of a mark."""
    if not isinstance(value, str) or len(value) > LONGEST_NAME:
        return False
    return re.fullmatch(r"[^\W_]++(?:[ .-][^\W_]++)*+", value) is not None


def _listed(names: Iterable[str]) -> str:
    *most, last = names
    return _("{most} or {last}", most=", ".join(most), last=last)


@dataclass(frozen=True, slots=True)
class SettingsKey:
    """One key of the file: its field in `Settings`, what fits it, the same in words, and what is told of it."""

    field: str
    fits: Callable[[object], bool]
    says: str
    remark: str
    example: str
    """A value as TOML has it: the program's own, or where that is none, one that somebody might write."""
    of_text: Callable[[str], object] = str.strip
    """What a variable with that text means."""

    def variable(self, key: str) -> str:
        """The variable that goes before the file."""
        # Initials had theirs first, and it says more: who it is whatever the log says.
        return "GRADECHECK_BY" if key == "initials" else f"GRADECHECK_{key.upper().replace(' ', '_')}"


def _as_bool(written: str) -> object:
    return {"true": True, "false": False}.get(written.strip().casefold())


def _as_minutes(written: str) -> object:
    written = written.strip()
    return int(written) if written.isascii() and written.isdigit() and len(written) < 10 else None


KEYS: dict[str, SettingsKey] = {
    "theme": SettingsKey(
        "theme",
        _one_of(*THEMES),
        _("is {words}", words=_listed(THEMES)),
        _("Colors: sun is black on white, night the other way round, plain has none."),
        '"sun"',
    ),
    "language": SettingsKey(
        "language",
        _one_of(*LANGUAGES),
        _("is {words}", words=_listed(LANGUAGES)),
        _("What the program speaks: en or es; without it, as the machine does."),
        '"es"',
    ),
    "initials": SettingsKey(
        "initials",
        _is_initials,
        _("are one to {most} letters", most=LONGEST_INITIALS),
        _("Who checks here, where nobody has said so yet."),
        '"RK"',
    ),
    "after a reading": SettingsKey(
        "after_a_reading",
        _one_of(*AFTER_A_READING),
        _("is {words}", words=_listed(AFTER_A_READING)),
        _("What comes after a reading: stay on the point, go on, or stay until on grade."),
        f'"{UNTIL_ON_GRADE}"',
    ),
    "bell": SettingsKey(
        "bell",
        _is_bool,
        _("is true or false"),
        _("One bell on grade, two for CUT, three for FILL."),
        "false",
        _as_bool,
    ),
    "mouse": SettingsKey(
        "mouse",
        _is_bool,
        _("is true or false"),
        _("For a finger or a mouse: taller rows that can be tapped."),
        "false",
        _as_bool,
    ),
    "laptop": SettingsKey(
        "laptop",
        _is_name,
        _("is a name of one to {most} letters, as north crew", most=LONGEST_NAME),
        _("This laptop's name; where several record one job, its marks are named by it."),
        _('"north crew"'),
    ),
    "copy to": SettingsKey(
        "copy_to",
        _is_place,
        _("is the whole path of a folder, as /mnt/office/jobs or ~/Office, or postgresql://NAME@HOST/DATABASE"),
        _("Where laptops meet: a folder, or an office's server. The app shares by it."),
        '"/mnt/office/jobs"',
    ),
    "share every": SettingsKey(
        "share_every",
        _is_minutes,
        _("is a whole number of minutes, 1 to 1440"),
        _("Minutes between two shares."),
        "10",
        _as_minutes,
    ),
}
"""Every key of the file, in the order in which it is written and shown."""
TABLE = "keys"
"""The table of keys of the keyboard, behind all others."""


def position(text: str, key: str, table: str = "", *, of_key: bool = False) -> str:
    """Where the key or its value stands, as ``line 2, column 8``; in that table, where one is named."""
    written = re.compile(rf"""[ \t]*(\[?)[ \t]*(["']?){re.escape(key)}\2[ \t]*(=[ \t]*)?""")
    inline = re.compile(rf"""(?<=[{{,\s.])(["']?){re.escape(key)}\1[ \t]*=[ \t]*""")
    before, _dot, name = table.partition(".")
    within = ""
    for number, line in enumerate(text.splitlines(), 1):
        header = re.match(r"""[ \t]*\[[ \t]*([^\[\]]*?)[ \t]*\]""", line)
        found = written.match(line)
        if found and (found[1] or found[3]) and (within == table if not header else not table):
            quote = len(found[2])
            start = found.start(2) if of_key or not found[3] else found.end()
            return _("line {number}, column {start}", number=number, start=start + 1 if quote or start else 1)
        bare = line.lstrip(" \t\"'")
        row = bool(before and name and within == before and bare.startswith(name))
        if table and (row or bare.startswith(table)) and (found := inline.search(line)):
            start = found.start() if of_key else found.end()
            return _("line {number}, column {start}", number=number, start=start + 1)
        within = header[1].replace('"', "").replace("'", "") if header else within
    return _("line 1, column 1")  # written with escapes


def _near(key: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key.casefold(), [*KEYS, TABLE], n=1, cutoff=0.6)
    return _(" Did you mean “{name}”?", name=near[0]) if near else ""


def _not_toml(says: str, text: str) -> str:
    """What is wrong with the text, beginning with where, as tomllib says it behind."""
    what, _at, where = says.partition(" (at ")
    found = re.match(r"line (\d+), column (\d+)", where)
    lines = text.splitlines() or [""]
    line, column = (int(found[1]), int(found[2])) if found else (len(lines), len(lines[-1]) + 1)
    bare = lines[line - 1].strip() if line <= len(lines) else ""
    quoted = next((key for key in KEYS if " " in key and bare.startswith(key)), None)
    hint = _("; “{quoted}” is in quotes", quoted=quoted) if quoted else ""
    return _(
        "line {line}, column {column}: {lower}{what}{hint}.",
        line=line,
        column=column,
        lower=what[:1].lower(),
        what=what[1:],
        hint=hint,
    )
