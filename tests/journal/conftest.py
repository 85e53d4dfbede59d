"""A place for a journal, and ways to get at its file as a stranger would."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck.journal.store import JOURNAL_NAME, Journal


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the journal will be; nothing is there yet."""
    return tmp_path / JOURNAL_NAME


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    """A journal, open and empty."""
    opened = Journal(path)
    yield opened
    opened.close()
