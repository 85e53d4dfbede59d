"""The verbs `settings` and `paths`: what counts on this laptop and where it came from, and where things lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.cli.options import Options, Reply, as_path, csv_option, flag, named, option, verb
from gradecheck.plan.load import PLAN_NAME
from gradecheck.system import keymap
from gradecheck.system.settings import KEYS, TABLE, THEMES, Settings, folder, read_settings
from gradecheck.system.settings import path as own_file


@dataclass(frozen=True, kw_only=True, slots=True)
class SettingsOptions(Options):
    write: bool = flag("--write", _("add every key that settings.toml lacks, each with a remark"))
    hand_out: Path | None = option(
        "--from", metavar="FILE", type=as_path, help=_("use what the firm hands out to its laptops in one file")
    )
    row: str | None = option(
        "--as",
        metavar="ROW",
        type=str.strip,
        help=_("the row for this laptop there, where it isn't the machine's name"),
    )
    csv: bool = csv_option()


@verb(SettingsOptions, apart=(("write", "hand_out"), ("csv", "json")), belongs=(("row", "hand_out"),))
def settings(options: SettingsOptions) -> Reply:
    """What counts on this laptop and where it came from; 1 where something in the settings is wrong."""
    said, saved = [], options.write or options.hand_out is not None
    if saved:
        said = list(_written(options))
    liked = read_settings()
    keymap.use(liked.keys)
    lines = [*said, *_shown(liked), *liked.faults]
    table = [{"key": key, "value": _as_written(_value(liked, key)), "from": _came(liked, key)} for key in KEYS]
    return Reply(_as_json(liked), lines, code=1 if liked.faults else 0, saved=saved, table=table)


def _written(options: SettingsOptions) -> Iterator[str]:
    from gradecheck.system.settings_file import handed_out, machine, write_settings

    values, source = {}, options.hand_out
    try:
        if source is not None:
            values = handed_out(source, options.row or machine())
    except ValueError as wrong:
        faults = "\n".join(f"{source}, {fault}" for fault in str(wrong).splitlines())
        raise Refusal(_("{faults}\nNothing was written.", faults=faults)) from None
    except OSError as wrong:
        raise Refusal(_("{path} can't be read: {reason}.", path=source, reason=wrong.strerror)) from None
    path = own_file()
    try:
        written = write_settings(folder(), values)
    except ValueError as wrong:
        raise Refusal(_("{path}, {fault} Nothing was written.", path=path, fault=wrong)) from None
    except OSError as wrong:
        raise Refusal(_("{path} can't be written: {reason}.", path=path, reason=wrong.strerror)) from None
    yield _("{path} has every key now; what was there has not changed.", path=written.path)
    if written.given:
        yield _("From {source}: {keys}.", source=source, keys=", ".join(written.given))
    if written.kept:
        yield _("Kept the way you wrote it here, though {source} differs: {keys}.", source=source,
                keys=", ".join(written.kept))  # fmt: skip


def _shown(liked: Settings) -> Iterator[str]:
    for key in KEYS:
        yield _line(key, _as_written(_value(liked, key)), _came(liked, key))
    for meaning, key in liked.keys.items():
        yield _line(f"{TABLE}.{meaning}", keymap.shown_key(key), _came(liked, f"{TABLE}.{meaning}"))
    if not liked.keys:
        yield _line(TABLE, _("none changed"), _("the program's own"))


_UNSAID = {"theme": THEMES[0]}
"""What an empty value comes to."""


def _value(liked: Settings, key: str) -> object:
    value = getattr(liked, KEYS[key].field)
    return _UNSAID.get(key, value) if value == "" else value


def _line(key: str, value: str, came: str) -> str:
    return f"{key:<16} {value:<24} {came}"


def _came(liked: Settings, key: str) -> str:
    return liked.came.get(key) or _("the program's own")


def _as_written(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if value != "" else "-"


def _as_json(liked: Settings) -> dict[str, object]:
    values = {key: _value(liked, key) for key in KEYS}
    return {
        "file": str(own_file()),
        "settings": {key: {"value": value, "from": liked.came.get(key)} for key, value in values.items()},
        "keys": dict(liked.keys),
        "wrong": list(liked.faults),
    }


@dataclass(frozen=True, kw_only=True, slots=True)
class PathsOptions(Options):
    folder: Path = named("[FOLDER]", default=Path("jobs"), type=as_path, help=_("of jobs; jobs where none is named"))


@verb(PathsOptions)
def paths(options: PathsOptions) -> Reply:
    """Where the settings, the cache, crash reports and jobs lie."""
    from gradecheck.files import crash
    from gradecheck.plan import cache

    reports = crash.reports()
    found = sorted(options.folder.glob(f"*/{PLAN_NAME}"))
    here = own_file()
    rows = [
        (_("settings"), here, "" if here.is_file() else _("not written yet")),
        (_("cache"), cache.folder(), ""),
        (_("crash reports"), crash.folder(), plural(len(reports), "{n} report", "{n} reports")),
        (_("jobs"), options.folder.absolute(), plural(len(found), "{n} job", "{n} jobs")),
    ]
    lines = [f"{name:<14} {path}{f'  ({says})' if says else ''}" for name, path, says in rows]
    lines += [f"{'':<14} {path}" for path in reports[:_NEWEST]]
    json = dict(
        zip(("settings", "cache", "crashes", "jobs"), (str(path) for _name, path, _says in rows), strict=True)
    )
    return Reply(
        {**json, "reports": [str(path) for path in reports], "found": [str(job.parent) for job in found]}, lines
    )


_NEWEST = 3
"""Crash reports that are named."""
