"""What the commands say beside their answer as a matter of course, so that a test can look for what is not."""

from __future__ import annotations

import json
import re
from typing import Any

_OF_COURSE = re.compile(
    r"Cautions for today; .*\n(?:  .*\n)+"
    r"|Local code and the drawings decide\.\n"
    r"|^[\w ]+, [\w ]+: Before the [a-z ]+: .*Local code decides\.\n",
    re.MULTILINE,
)


def unexpected(err: str) -> str:
    """Standard error without the cautions and without who decides, which have tests of their own."""
    return _OF_COURSE.sub("", err)


def answered(text: str) -> Any:
    """What a command answered in JSON, without what every answer begins with; of a table the rows."""
    told = json.loads(text)
    assert told.pop("schema version") == 1
    assert isinstance(told.pop("command"), str)
    return told["rows"] if set(told) - {"decides"} == {"rows"} else told
