"""The versions that a report of a fault should name."""

from __future__ import annotations

import sys

from gradecheck import __version__
from gradecheck.catalogue import _


def versions() -> str:
    """The program, Python and SQLite in one line."""
    import sqlite3

    python = ".".join(map(str, sys.version_info[:3]))
    return _(
        "gradecheck {version} (Python {python}, SQLite {sqlite_version})",
        version=__version__,
        python=python,
        sqlite_version=sqlite3.sqlite_version,
    )
