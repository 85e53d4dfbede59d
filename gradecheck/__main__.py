"""The program's front door: it opens as little as the question needs."""

from __future__ import annotations

import sys

from gradecheck import __version__


def main() -> int:
    """Runs the command line given; returns the exit code."""
    if sys.argv[1:] == ["--version"]:
        print(version())
        return 0
    # Kept back: asking for the version should cost little more than Python itself.
    from gradecheck.cli import main as run

    return run()


def version() -> str:
    """The versions that a report of a fault should name."""
    import sqlite3

    python = ".".join(map(str, sys.version_info[:3]))
    return f"gradecheck {__version__} (Python {python}, SQLite {sqlite3.sqlite_version})"


if __name__ == "__main__":
    sys.exit(main())
