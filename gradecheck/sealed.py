"""What is kept between runs beside the journal, under a hash: what is not as it was written is not believed."""

from __future__ import annotations

import hashlib


def seal(content: bytes, of: str) -> bytes:
    """The content behind a line with its hash. `of` names what it is, so that one file does not pass for another."""
    return _hash(content, of) + b"\n" + content


def unseal(kept: bytes, of: str) -> bytes | None:
    """The content as it was sealed under that name, None where a bit of it is another or nobody sealed it."""
    found, _, content = kept.partition(b"\n")
    return content if found == _hash(content, of) else None


def _hash(content: bytes, of: str) -> bytes:
    return hashlib.sha256(f"{of}\n".encode() + content).hexdigest().encode()
