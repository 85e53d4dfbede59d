"""Files of a meeting place, read and made by hand from what the page of the guide says of them."""

from __future__ import annotations

import hashlib
import json
import zlib
from pathlib import Path
from typing import Any


def rows_in(path: Path) -> list[list[Any]]:
    """The entries of a file."""
    return [json.loads(line) for line in zlib.decompress(path.read_bytes()).decode().split("\n")]


def lay(folder: Path, like: Path, lines: list[Any], *, packed: bytes | None = None) -> Path:
    """A file with the plan and chain of another one, and a right hash of whatever is in it."""
    texts = (each if isinstance(each, str) else json.dumps(each, separators=(",", ":")) for each in lines)
    content = zlib.compress("\n".join(texts).encode()) if packed is None else packed
    _, plan, chain, *_ = like.name.split("-")
    name = f"gc1-{plan}-{chain}-00000001-00000001-{hashlib.sha256(content).hexdigest()[:32]}.rows"
    (folder / name).write_bytes(content)
    return folder / name


def hashed(row: list[Any]) -> list[Any]:
    """The row with the hash that its content has."""
    content = json.dumps(row[:15], ensure_ascii=False, separators=(",", ":"))
    return [*row[:15], hashlib.sha256(content.encode()).hexdigest()]
