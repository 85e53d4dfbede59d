"""The verbs as commands, for scripts and hands that like a keyboard; each file holds a family with its options."""

from gradecheck.cli.run import main

__all__ = ["main"]
