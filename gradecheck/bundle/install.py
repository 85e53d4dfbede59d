"""On the laptop: a version beside those that are there, from the wheels of the bundle alone, and the start of it.

It runs from the bundle's own wheel, before anything is installed, so it needs no more than Python itself.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from gradecheck import __version__
from gradecheck.catalogue import _
from gradecheck.places import clear_tree, make_folders, write

WHOLE = "installed"
"""The file that stands in a version's folder once all of it is there."""
WINDOWS = sys.platform == "win32"


def main(folder: str, arguments: Sequence[str]) -> int:
    """Installs what is in that folder; returns the exit code."""
    parser = argparse.ArgumentParser(
        prog="install", description=_("Installs gradecheck {version}; nothing is fetched.", version=__version__)
    )
    parser.add_argument("--to", type=Path, metavar="FOLDER", help=_("where to; else a folder of yours"))
    to: Path | None = parser.parse_args(arguments).to
    starts_in = Path("~/.local/bin").expanduser() if to is None and not WINDOWS else None
    to = (to or usual_folder()).resolve()
    try:
        version = install(Path(folder), to)
        start = put_start(version, starts_in or to / "bin")
        demo = put_demo(Path(folder) / "jobs", to / "demo")
    except (OSError, subprocess.SubprocessError) as wrong:
        why = getattr(wrong, "stderr", None) or getattr(wrong, "strerror", None) or str(wrong)
        last = str(why).strip().splitlines()[-1:]
        print(
            _("gradecheck was not installed: {why}. What was there is as it was.", why="".join(last).rstrip(".")),
            file=sys.stderr,
        )
        return 2
    print(_("gradecheck {version} is installed. Start it: {start}", version=__version__, start=start))
    print(_("To try it: {start} {demo}", start=start.name.removesuffix(".cmd"), demo=demo))
    if str(start.parent) not in os.environ.get("PATH", "").split(os.pathsep):
        print(_("Put {folder} on your PATH to start it by its name.", folder=start.parent))
    others = [each.parent.name for each in sorted(to.glob(f"*/{WHOLE}")) if each.parent != version]
    if others:
        print(_("Still there: {versions}. To go back, run the file of that one again.", versions=", ".join(others)))
    return 0


def usual_folder() -> Path:
    """Where programs of one user lie on this system."""
    home = Path.home()
    if WINDOWS:
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData/Local") / "gradecheck"
    if sys.platform == "darwin":
        return home / "Library/Application Support/gradecheck/program"
    return Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "gradecheck"


def install(bundle: Path, to: Path) -> Path:
    """The folder of this version, made if it is not whole. Raises OSError or SubprocessError, and leaves nothing."""
    import venv
    import zipfile

    version = to / __version__
    if (version / WHOLE).is_file():
        return version
    clear_tree(version)
    make_folders(to)
    unpacked = to / f".pip-{os.getpid()}"
    try:
        venv.EnvBuilder(symlinks=not WINDOWS).create(version)
        python = version / ("Scripts/python.exe" if WINDOWS else "bin/python")
        [pip] = bundle.glob("wheels/pip-*.whl")
        with zipfile.ZipFile(pip) as file:
            file.extractall(unpacked)
        wanted = bundle / f"requirements-{sys.version_info[0]}.{sys.version_info[1]}.txt"
        with_pip = os.environ | {"PYTHONPATH": str(unpacked)}
        _run(
            [python, "-m", "pip", "--isolated", *_QUIETLY, "--find-links", bundle / "wheels", "-r", wanted], with_pip
        )
        _run([program(version), "--version"])
        write(version / WHOLE, b"")
    except BaseException:
        clear_tree(version)
        raise
    finally:
        clear_tree(unpacked)
    return version


_QUIETLY = (
    *("install", "--quiet", "--disable-pip-version-check", "--no-input", "--no-warn-script-location"),
    *("--no-index", "--no-deps", "--require-hashes"),
)


def _run(command: Sequence[str | Path], environ: Mapping[str, str] | None = None) -> None:
    subprocess.run(  # noqa: S603 - pip of the bundle, and what it installed
        command,
        env=environ,
        check=True,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="replace",
    )


def program(version: Path) -> Path:
    """What starts that version."""
    return version / ("Scripts/gradecheck.exe" if WINDOWS else "bin/gradecheck")


def put_start(version: Path, folder: Path) -> Path:
    """Puts what starts this version in place of what started another, and returns its path. Raises OSError."""
    from shlex import quote

    make_folders(folder)
    if WINDOWS:
        # From its own place: a name with letters of another code page can't be written into such a file.
        start, text = folder / "gradecheck.cmd", f'@"%~dp0..\\{version.name}\\Scripts\\gradecheck.exe" %*\r\n'
    else:
        start, text = folder / "gradecheck", f'#!/bin/sh\nexec {quote(str(program(version)))} "$@"\n'
    write(start, os.fsencode(text), mode=0o755)
    return start


def put_demo(jobs: Path, to: Path) -> Path:
    """Copies the demo jobs, unless they are there; what was tried in them stays. Raises OSError."""
    for job in sorted(jobs.iterdir()):
        if not (to / job.name).exists():
            make_folders(to / job.name)
            for file in sorted(job.iterdir()):
                write(to / job.name / file.name, file.read_bytes())
    return to
