"""The program with a mistake of its own: it fails when the point before is gone to, and when a log is shown."""

from __future__ import annotations

import dataclasses
import sys
from typing import NoReturn

from gradecheck.__main__ import main
from gradecheck.app.screens.check import CheckScreen
from gradecheck.cli import records


def _fail(*_: object) -> NoReturn:
    keyed = "53-5/16 keyed by hand"  # what stands in variables is nobody's business
    raise ZeroDivisionError(f"a mistake, {len(keyed)}")


if __name__ == "__main__":
    CheckScreen.action_move = _fail  # type: ignore[assignment]
    records.log = dataclasses.replace(records.log, run=_fail)
    sys.exit(main())
