"""The program's front door: it opens as little as the question needs."""

from __future__ import annotations

import sys


def main() -> int:
    """Runs the command line given; returns the exit code."""
    if sys.argv[1:] == ["--version"]:
        # Asking for the version should cost little more than Python itself.
        from gradecheck.system.versions import versions

        print(versions())
        return 0
    from gradecheck.cli import main as run

    try:
        return run()
    except KeyboardInterrupt:
        return _stopped()
    except Exception as wrong:  # noqa: BLE001 - whatever it is, a person is told in a sentence
        return _failed(wrong)


def _stopped() -> int:
    from gradecheck.catalogue import _

    print(_("Stopped by Ctrl+C; everything that was saved is saved."), file=sys.stderr)
    return 130  # as shells count a program that Ctrl+C ended


def _failed(wrong: Exception) -> int:
    from pathlib import Path

    from gradecheck.files import crash

    print(says := crash.tell(wrong, map(Path, sys.argv[1:])), file=sys.stderr)
    if sys.argv[1:]:
        from gradecheck.cli.run import answer_error

        answer_error(sys.argv[1:], says, crash.CODE)
    return crash.CODE


if __name__ == "__main__":
    sys.exit(main())
