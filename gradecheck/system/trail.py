"""The debug log (``--log FILE``): what the program did, line by line, for whoever looks for a fault.

No key that was pressed, no text that was typed, no password stands in it. Without a file nothing is done here.
"""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import TextIO

_file: TextIO | None = None

_IN_ADDRESS = re.compile(r"(?<=://)([^/@\s:]*):[^@/\s]*(?=@)")
_NAMED = re.compile(
    r"((?:ssl)?password|passfile|PGPASSWORD)(\s*[=:]\s*)(?:'[^']*'|\"[^\"]*\"|[^\s&,;)]+)", re.IGNORECASE
)


def without_password(text: str) -> str:
    """The text with no password of an address in it, nor one that follows its name."""
    return _NAMED.sub(r"\1\2***", _IN_ADDRESS.sub(r"\1:***", text))


def begin(path: Path) -> None:
    """What is done from here on is written there, behind what the file has. Raises `OSError`."""
    global _file
    _file = path.open("a", encoding="utf-8", errors="backslashreplace", buffering=1)


def is_kept() -> bool:
    """Whether there is such a log: what is worked out for it alone need not be otherwise."""
    return _file is not None


def note(what: str, **with_: object) -> None:
    """Writes that something was done, with its figures; where the file can't be written any more, it is let be."""
    global _file
    if _file is None:
        return
    now = time.time()
    stamp = f"{time.strftime('%Y-%m-%dT%H:%M:%S', time.localtime(now))}.{int(now % 1 * 1000):03d}"
    text = " ".join(f"{name.rstrip('_')}={value}" for name, value in with_.items())
    line = " ".join(without_password(f"{what} {text}".rstrip()).split())
    try:
        _file.write(f"{stamp} {line}\n")
    except (OSError, ValueError):
        _file = None


def end() -> None:
    """Nothing more is written."""
    global _file
    if _file is not None:
        _file.close()
        _file = None
