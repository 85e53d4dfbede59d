"""Runs every measurement and prints them as one table; it measures, it does not judge, and always ends with 0."""

from __future__ import annotations

import argparse
import os
import tempfile
from pathlib import Path

from tests.bench import commands, disk, plan, screens
from tests.bench.measure import Measure, table


def measure(folder: Path, *, rounds: int, enters: int = 12, together: int = 20, side: int = 100) -> list[Measure]:
    """All measurements, taken in that folder."""
    changes = screens.compiled(folder / "compiled")
    return [
        *commands.measure(changes, rounds),
        *screens.measure(folder, changes, rounds, enters),
        *disk.measure(folder, rounds, together),
        screens.burst(folder, changes),
        *plan.measure(rounds, side),
    ]


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--rounds", type=int, default=9, help="how often everything is done (default: 9)")
    parser.add_argument("--folder", type=Path, help="where to write, on the disk that is to be measured")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as named:
        folder = Path(named)
        os.environ["GRADECHECK_CACHE"] = str(folder / "cache")
        os.environ["GRADECHECK_SETTINGS"] = str(folder / "settings")
        measures = measure(folder, rounds=options.rounds)
    print(f"medians of {options.rounds} rounds; ! is more than is allowed now\n")
    print(table(sorted(measures, key=lambda each: each.number)))


if __name__ == "__main__":
    main()
