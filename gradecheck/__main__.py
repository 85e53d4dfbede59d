"""The program's front door: it opens as little as the question needs."""

from __future__ import annotations

import sys


def main() -> int:
    """Runs the command line given; returns the exit code."""
    if sys.argv[1:] == ["--version"]:
        # Asking for the version should cost little more than Python itself.
        from gradecheck.versions import versions

        print(versions())
        return 0
    from gradecheck.cli import main as run

    return run()


if __name__ == "__main__":
    sys.exit(main())
