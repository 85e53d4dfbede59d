"""The verbs that open the app."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path


def jobs(options: argparse.Namespace) -> int:
    """The app on the jobs in a folder; on one job where that folder is one."""
    folder = _whole(options.folder)
    if (folder / "job.yaml").is_file():
        return _app(folder.parent, folder, options)
    return _app(folder, None, options)


def open_one(options: argparse.Namespace) -> int:
    """The app on one job."""
    job = _whole(options.job)
    return _app((job.parent if job.name == "job.yaml" else job).parent, job, options)


def _whole(path: Path) -> Path:
    """The whole path, found out once: later the folder that the program was started in may be gone with its stick."""
    try:
        return path.absolute()
    except OSError:
        return path


def _app(folder: Path, job: Path | None, options: argparse.Namespace) -> int:
    # The screen itself is written to stderr.
    if not (sys.stdin.isatty() and sys.stderr.isatty()) or os.environ.get("TERM") == "dumb":
        print("The app needs a terminal; the commands do the same without one: gradecheck --help", file=sys.stderr)
        return 2
    from gradecheck.app.app import run

    return run(folder, job, ascii_only=options.ascii, theme=options.theme)
