"""The versions that a report of a fault should name."""

from __future__ import annotations

import sys

from gradecheck import __version__


def versions() -> str:
    """The program, Python and SQLite in one line."""
    import sqlite3

    python = ".".join(map(str, sys.version_info[:3]))
    return f"gradecheck {__version__} (Python {python}, SQLite {sqlite3.sqlite_version})"
