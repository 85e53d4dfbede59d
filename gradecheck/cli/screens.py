"""The verbs that open the app: `jobs`, `open` and `follow`."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.cli.options import Reply, as_path, flag, named, option, verb
from gradecheck.system import keymap
from gradecheck.system.settings import read_settings


@dataclass(frozen=True, kw_only=True, slots=True)
class _LookOptions:
    ascii: bool = flag("--ascii", _("plain letters where fonts lack blocks"))
    theme: str | None = option("--theme", choices=("sun", "night", "plain"), help=_("colors at the start"))


@dataclass(frozen=True, kw_only=True, slots=True)
class JobsOptions(_LookOptions):
    folder: Path = named("FOLDER", default=Path("jobs"), nargs="?", type=as_path)


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenOptions(_LookOptions):
    job: Path = named("JOB", type=as_path, help=_("a job's folder or its job.yaml"))


@dataclass(frozen=True, kw_only=True, slots=True)
class FollowOptions(OpenOptions):
    """As `open`."""


@verb(JobsOptions, screen=True)
def jobs(options: JobsOptions) -> Reply:
    """The app on the jobs in a folder; on one job where that folder is one."""
    folder = _whole(options.folder)
    if (folder / "job.yaml").is_file():
        return _app(folder.parent, folder, options)
    return _app(folder, None, options)


@verb(OpenOptions, screen=True)
def open_one(options: OpenOptions) -> Reply:
    """The app on one job."""
    job = _whole(options.job)
    return _app((job.parent if job.name == "job.yaml" else job).parent, job, options)


@verb(FollowOptions, screen=True)
def follow(options: FollowOptions) -> Reply:
    """A second window on one job, read only, for a tablet in the cab: the last verdict and the next rod figure."""
    if not _has_terminal():
        return Reply(code=2)
    _name_keys()
    from gradecheck.app.follow import run

    return Reply(code=run(_whole(options.job), ascii_only=options.ascii, theme=options.theme))


def _whole(path: Path) -> Path:
    """The whole path, found out once: later the folder that the program was started in may be gone with its stick."""
    try:
        return path.absolute()
    except OSError:
        return path


def _app(folder: Path, job: Path | None, options: _LookOptions) -> Reply:
    if not _has_terminal():
        return Reply(code=2)
    _name_keys()
    from gradecheck.app.app import run

    return Reply(code=run(folder, job, ascii_only=options.ascii, theme=options.theme))


def _name_keys() -> None:
    """Has the keys named as the settings have them, before texts that name one are read into classes and tables."""
    keymap.use(read_settings().keys)


def _has_terminal() -> bool:
    """Whether there is one to draw on; where there is none, says so."""
    # The screen itself is written to stderr.
    if sys.stdin.isatty() and sys.stderr.isatty() and os.environ.get("TERM") != "dumb":
        return True
    print(_("The app needs a terminal; the commands do the same without one: gradecheck --help"), file=sys.stderr)
    return False
