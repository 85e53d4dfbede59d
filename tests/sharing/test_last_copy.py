"""When a job was last shared whole is kept among the settings, and not believed where it is not as it was written."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gradecheck.sharing.last_copy import LastCopy, last_copy, note

FIRST = datetime(2026, 5, 12, 14, 3, tzinfo=UTC)
LATER = FIRST + timedelta(hours=2)


def test_a_try_that_fell_short_leaves_the_time_of_the_one_before(tmp_path: Path) -> None:
    assert last_copy(tmp_path) == LastCopy()
    note(tmp_path, "all there", whole=True, at=FIRST)
    assert last_copy(tmp_path) == LastCopy(FIRST, "all there", True)
    note(tmp_path, "no stick", whole=False, at=LATER)
    assert last_copy(tmp_path) == LastCopy(FIRST, "no stick", False)
    assert last_copy(tmp_path / "another") == LastCopy()


@pytest.mark.parametrize("spoilt", [b"", b"{}", b"no seal\n{}", b"\xff" * 99])
def test_what_is_not_as_it_was_written_is_not_believed(own_folders: Path, tmp_path: Path, spoilt: bytes) -> None:
    note(tmp_path, "all there", whole=True, at=FIRST)
    [kept] = (own_folders / "settings" / "shared").iterdir()
    kept.write_bytes(spoilt)
    assert last_copy(tmp_path) == LastCopy()
    flipped = bytearray(kept.read_bytes() or b"x")
    flipped[0] ^= 1
    kept.write_bytes(flipped)
    assert last_copy(tmp_path) == LastCopy()
