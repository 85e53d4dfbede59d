"""Reads a job file from disk; a plan once understood is remembered by the hash of its text."""

from __future__ import annotations

import codecs
import hashlib
import os
import stat
from pathlib import Path

from gradecheck.plan import cache
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem

FILE_NAME = "job.yaml"
LARGEST = 1_000_000
"""Bytes; ten thousand points written out by hand take 600 kB."""


def text_hash(text: str) -> str:
    """The name a plan's text goes by in the journal and the cache."""
    return hashlib.sha256(text.encode()).hexdigest()


def load_plan(path: Path) -> tuple[Plan, str]:
    """The plan in that job file and its text. Raises `PlanProblemsError` with every problem found."""
    text = read_text(path)
    plan = cache.recall(text_hash(text))
    if plan is None:
        # Only a text never seen before needs YAML, pydantic and pint; they take longer to import than Textual.
        from gradecheck.plan.read import read_plan

        plan = read_plan(text, path.name)
        cache.remember(text_hash(text), plan)
    return plan, text


def read_text(path: Path) -> str:
    """The file's text with plain line ends. Raises `PlanProblemsError` when it is no readable UTF-8 text."""
    name = path.name
    try:
        # Not to hang on a pipe or a device: open without waiting, then look at what it is.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as wrong:
        says = f"This file can't be read ({wrong.strerror}); check the name and the folder."
        raise PlanProblemsError([Problem(name, 1, 1, says)]) from wrong
    status = os.fstat(descriptor)
    if not stat.S_ISREG(status.st_mode):
        os.close(descriptor)  # a folder among them, which can't be opened as a file at all
        raise PlanProblemsError([Problem(name, 1, 1, "This is not a plain file; give a job.yaml.")])
    with os.fdopen(descriptor, "rb") as file:
        if status.st_size > LARGEST:
            says = f"This file has {status.st_size:,} bytes, more than {LARGEST:,}; put long point lists elsewhere."
            raise PlanProblemsError([Problem(name, 1, 1, says)])
        content = file.read(LARGEST + 1).removeprefix(codecs.BOM_UTF8)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as wrong:
        line = content.count(b"\n", 0, wrong.start) + 1
        says = f"Byte {content[wrong.start]:#04x} on this line is not UTF-8; save the file as UTF-8 text."
        raise PlanProblemsError([Problem(name, line, 1, says)]) from wrong
    return text.replace("\r\n", "\n").replace("\r", "\n")
