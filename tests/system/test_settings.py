"""The id of a laptop stays as long as its file is as it was written, and no longer."""

from __future__ import annotations

import uuid

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.system import settings


def test_the_id_stays_from_run_to_run() -> None:
    first = settings.laptop_id()
    assert str(uuid.UUID(first)) == first
    assert settings.laptop_id() == first


def test_an_id_from_before_it_had_a_hash_is_kept_and_gets_one() -> None:
    known = "3f0c1a52-8c1b-4d53-9d0e-2b6a7c9e1f04"
    path = settings.folder() / settings.LAPTOP
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{known}\n", encoding="ascii")
    assert settings.laptop_id() == known
    assert path.read_bytes() != f"{known}\n".encode()
    assert settings.laptop_id() == known


@given(st.data())
def test_one_that_was_changed_is_given_up_for_a_new_one(data: st.DataObject) -> None:
    first = settings.laptop_id()
    path = settings.folder() / settings.LAPTOP
    kept = bytearray(path.read_bytes())
    kept[data.draw(st.integers(0, len(kept) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    path.write_bytes(kept)
    fresh = settings.laptop_id()
    assert sum(one == other for one, other in zip(fresh, first, strict=True)) < 30
    assert settings.laptop_id() == fresh
