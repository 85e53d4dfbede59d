"""A hash that is read out and keyed in again is the same hash, however it was written down."""

from __future__ import annotations

import base64
import hashlib

import pytest
from hypothesis import given, strategies

from gradecheck.journal import short_hash
from gradecheck.journal.short_hash import Given, NoHashError, grouped_hash

DIGEST = hashlib.sha256(b"abc").hexdigest()  # FIPS 180-2, appendix B.1: ba7816bf 8f01cfea 414140de 5dae2223 ...
READ_OUT = "Q9W1 DFWF 077Y MGA1 83F5 VBH2 4ER0 6RD3"
"""Its first 160 bits by `base64.b32encode`, in the letters of crockford.com/base32.html."""

digests = strategies.binary(min_size=32, max_size=32).map(bytes.hex)


def by_base64(digest: str) -> str:
    """The same worked out by the standard library, whose letters are those of RFC 4648."""
    letters = base64.b32encode(bytes.fromhex(digest)[:20]).decode()
    return letters.translate(str.maketrans("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", "0123456789ABCDEFGHJKMNPQRSTVWXYZ"))


def test_a_known_hash_in_eight_groups_of_four() -> None:
    assert grouped_hash(DIGEST) == READ_OUT
    assert grouped_hash("") == ""


@given(digests)
def test_it_is_base_32_of_160_bits_without_letters_that_look_alike(digest: str) -> None:
    assert grouped_hash(digest).replace(" ", "") == by_base64(digest)
    assert not set(grouped_hash(digest)) & set("ILOU")


@given(digests, strategies.randoms(use_true_random=False), strategies.integers(0, 999_999_999))
def test_however_it_is_written_down_it_is_understood(digest: str, draw: object, seq: int) -> None:
    choice = draw.choice  # type: ignore[attr-defined]
    alike = {"0": "0Oo", "1": "1IiLl", "V": "VvUu"}
    written = "".join(choice(alike.get(each, each + each.lower())) for each in grouped_hash(digest))
    written = "".join(
        choice((" ", "-", "", "\n", " - ", "\u2013", ". ")) if each == " " else each for each in written
    )
    for before, number in (("", None), (f"{seq} ", seq), (f"no. {seq}: ", seq), (f"Entry {seq}: ", seq)):
        found = short_hash.typed_hash(before + written)
        assert (found.is_of(digest), found.seq, str(found)) == (True, number, grouped_hash(digest))


@given(digests, digests)
def test_another_entry_s_hash_is_another(one: str, other: str) -> None:
    assert short_hash.typed_hash(grouped_hash(one)).is_of(other) == (by_base64(one) == by_base64(other))


@pytest.mark.parametrize("typed", [DIGEST, DIGEST[:16], DIGEST.upper(), f"57 {DIGEST[:16]}", f"no. 57: {DIGEST}"])
def test_a_hash_as_older_reports_print_it_is_understood_too(typed: str) -> None:
    found = short_hash.typed_hash(typed)
    assert found.is_of(DIGEST)
    assert found.seq == (57 if "57" in typed[:6] else None)
    assert not found.is_of(hashlib.sha256(b"abd").hexdigest())


@given(digests, strategies.lists(strategies.integers(0, 31), min_size=1, max_size=4, unique=True))
def test_a_letter_or_two_misread_are_told_by_their_group(digest: str, places: list[int]) -> None:
    letters = list(by_base64(digest))
    for place in places:
        letters[place] = "0" if letters[place] != "0" else "Z"
    groups = tuple(sorted({place // 4 + 1 for place in places}))
    found = short_hash.typed_hash("".join(letters))
    assert not found.is_of(digest)
    assert found.misread_in(digest) == (groups if len(groups) <= 2 else ())
    assert Given(by_base64(digest)).misread_in(digest) == ()


@pytest.mark.parametrize(
    "typed",
    ["", " ", "57", "no\nhash", READ_OUT[:-1], f"{READ_OUT} 0", READ_OUT.replace("Q", "*"), "x" * 99,
     DIGEST[:15], DIGEST[:-1], READ_OUT.replace(" ", "\0"), f"{READ_OUT}\u202e", "\ud800" * 32, f"-5 {READ_OUT}",
     "9" * 5000],
)  # fmt: skip
def test_what_is_no_hash_is_refused_in_one_sentence(typed: str) -> None:
    with pytest.raises(NoHashError, match="is not a hash; enter the 8 groups of 4") as refused:
        short_hash.typed_hash(typed)
    assert len(str(refused.value)) < 200
    assert "\n" not in str(refused.value)
