"""A hash that a person can read out: 8 groups of 4 letters and digits, and what is understood when it is typed in.

The letters and digits are those of Crockford's base 32 (crockford.com/base32.html): no I, L, O or U, which a hand or
a telephone takes for others.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from gradecheck.catalogue import _

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
GROUPS, IN_A_GROUP = 8, 4
LENGTH = GROUPS * IN_A_GROUP
"""Letters and digits in all; with 5 bits each the first 160 of the hash's 256."""
HEX = (16, 64)
"""So many digits has a hash of an entry where it is printed as a number: its beginning, or all of it."""
MISREAD = 2
"""Groups that may differ before a hash is another one rather than one that was misread."""

_LOOKS_LIKE = str.maketrans("OILU", "011V")
_BETWEEN = re.compile(r"[\s\-\u2010-\u2015\u2212.,;_/]+")
_NUMBER = re.compile(r"(?:(?:entry|no\.?|#)\s*)?(\d{1,9})(?:\s*:\s*|\s+)(?=\S)", re.IGNORECASE)


class NoHashError(ValueError):
    """What was given is no hash; the message is one sentence."""


@dataclass(frozen=True, slots=True)
class Given:
    """A hash as somebody gives it, and the number of its entry where that was given too."""

    text: str
    seq: int | None = None

    @property
    def is_hex(self) -> bool:
        """Whether it is a beginning of the hash as a number, rather than the groups that are read out."""
        return len(self.text) in HEX

    def is_of(self, digest: str) -> bool:
        """Whether it stands for an entry with that hash."""
        return digest.startswith(self.text) if self.is_hex else self.text == _letters(digest)

    def misread_in(self, digest: str) -> tuple[int, ...]:
        """The groups, counted from 1, that differ from those of that hash, where it is most likely that very one."""
        if self.is_hex:
            return ()
        own, there = _groups(self.text), _groups(_letters(digest))
        other = tuple(place for place in range(1, GROUPS + 1) if own[place - 1] != there[place - 1])
        return other if 0 < len(other) <= MISREAD else ()

    def __str__(self) -> str:
        return self.text if self.is_hex else " ".join(_groups(self.text))


def grouped_hash(digest: str) -> str:
    """A hash of 64 hexadecimal digits in groups to be read out; empty where there is none."""
    return " ".join(_groups(_letters(digest))) if digest else ""


def typed_hash(typed: str) -> Given:
    """The hash that was typed: groups in any case, with look-alikes, or hexadecimal digits of 16 or 64.

    Before it the number of its entry may stand, as a report prints it. Raises `NoHashError`.
    """
    plain = unicodedata.normalize("NFKC", typed).strip()
    seq = None
    if _size(plain) not in (LENGTH, *HEX) and (numbered := _NUMBER.match(plain)):
        seq, plain = int(numbered[1]), plain[numbered.end() :]
    text = _BETWEEN.sub("", plain)
    if len(text) in HEX and re.fullmatch("[0-9a-fA-F]+", text):
        return Given(text.lower(), seq)
    text = text.upper().translate(_LOOKS_LIKE)
    if len(text) != LENGTH or any(letter not in ALPHABET for letter in text):
        typed = " ".join(typed.split())
        typed = typed if len(typed) <= 2 * LENGTH else f"{typed[:LENGTH]}…"
        raise NoHashError(
            _(
                "“{typed}” is not a hash; enter the {groups} groups of {in_a_group} letters and digits from the "
                "report.",
                typed=typed,
                groups=GROUPS,
                in_a_group=IN_A_GROUP,
            )
        )
    return Given(text, seq)


def _size(text: str) -> int:
    return len(_BETWEEN.sub("", text))


def _letters(digest: str) -> str:
    number = int(digest, 16) >> (256 - 5 * LENGTH)
    return "".join(ALPHABET[number >> 5 * place & 31] for place in reversed(range(LENGTH)))


def _groups(letters: str) -> list[str]:
    return [letters[start : start + IN_A_GROUP] for start in range(0, LENGTH, IN_A_GROUP)]
