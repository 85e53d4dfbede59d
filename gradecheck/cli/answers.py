"""What every answer in JSON has in common, an error too: the version of its form, the command, and then its own keys.

Standard output holds one such object whatever happens.
"""

from __future__ import annotations

import json

VERSION = 1
"""Counted on when a key goes or changes its meaning; new keys do not count."""


def answer_json(command: str, value: object, **beside: object) -> str:
    """The answer of that command: a table stands under `rows`."""
    own = value if isinstance(value, dict) else {"rows": value}
    return json.dumps({"schema version": VERSION, "command": command, **own, **beside}, indent=1)


def error_json(command: str, says: str, code: int) -> str:
    """What went wrong, with the exit code; the command is empty where none was understood."""
    return answer_json(command, {"error": {"exit": code, "says": says}})
