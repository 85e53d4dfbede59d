"""Runs every measurement and prints them as one table; it measures, it does not judge, and always ends with 0."""

from __future__ import annotations

import argparse
import dataclasses
import os
import tempfile
from pathlib import Path

from tests.bench import board, commands, disk, exchange, office, plan, scale, screens
from tests.bench.measure import Measure, table


def measure(
    folder: Path, *, rounds: int, enters: int = 12, together: int = 20, side: int = 100, jobs: int = 200
) -> list[Measure]:
    """All measurements of a job as a crew has it, taken in that folder."""
    changes = screens.compiled(folder / "compiled")
    return [
        *commands.measure(changes, rounds),
        *screens.measure(folder, changes, rounds, enters),
        *disk.measure(folder, rounds, together),
        screens.burst(folder, changes),
        *plan.measure(rounds, side),
        *exchange.measure(rounds, points=5 * side * side),
        *office.measure(rounds, rows=side * side),
        *board.measure(rounds, 100 * jobs, jobs, jobs),
    ]


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--rounds", type=int, default=9, help="how often everything is done (default: 9)")
    parser.add_argument("--folder", type=Path, help="where to write, on the disk that is to be measured")
    parser.add_argument(
        "--scale", action="store_true", help="the largest jobs instead; 9 GB of disk and half an hour"
    )
    _ask_for_sizes(parser.add_argument_group("with --scale, how large; of several sizes the first is held against"))
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder) as named:
        folder = Path(named)
        os.environ["GRADECHECK_CACHE"] = str(folder / "cache")
        os.environ["GRADECHECK_SETTINGS"] = str(folder / "settings")
        if options.scale:
            asked = {field.name: getattr(options, field.name) for field in dataclasses.fields(scale.Sizes)}
            sizes = dataclasses.replace(scale.Sizes(), **asked)
            measures = scale.measure(folder, screens.compiled(folder / "compiled"), sizes)
        else:
            measures = measure(folder, rounds=options.rounds)
    print(f"medians of {options.rounds} rounds; ! is more than is allowed now\n")
    print(table(sorted(measures, key=lambda each: each.number)))


def _ask_for_sizes(group: argparse._ArgumentGroup) -> None:
    for field in dataclasses.fields(scale.Sizes):
        several = isinstance(field.default, tuple)
        if field.name != "rounds":
            flag = f"--{field.name.replace('_', '-')}"
            group.add_argument(flag, type=int, nargs="+" if several else None, default=field.default)


if __name__ == "__main__":
    main()
