"""Runs the harnesses and prints what they counted as one table; ends with 1 where anything is not right."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

from tests.faults import (
    bit_flips,
    clocks,
    disk_faults,
    full_disk,
    fuzz,
    hostile,
    joined,
    keys,
    kills,
    mailed,
    meeting,
    missing,
    model,
    network,
    office,
    power_cuts,
    rewritten,
    sizes,
    soak,
    writers,
)
from tests.faults.figures import Figures, table

HARNESSES = (
    power_cuts,
    disk_faults,
    bit_flips,
    model,
    writers,
    clocks,
    full_disk,
    kills,
    fuzz,
    sizes,
    network,
    hostile,
    soak,
    mailed,
    meeting,
    missing,
    rewritten,
    joined,
    keys,
    office,
)
SEED = 1


def run(harness: ModuleType, folder: Path, *, runs: int, seed: int) -> list[Figures]:
    """What one harness counts in that folder, which it may fill."""
    folder.mkdir(parents=True)
    rows: list[Figures] = harness.run(folder, runs, seed)
    return rows


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs and prints."""
    by_name = {harness.NAME.replace(" ", "-"): harness for harness in HARNESSES}
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(by_name)}; all where none is named")
    parser.add_argument("--long", action="store_true", help="as often as the figures in tests/README.md were counted")
    parser.add_argument("--runs", type=int, help="so often instead")
    parser.add_argument("--seed", type=int, default=SEED, help=f"for everything that is drawn (default: {SEED})")
    options = parser.parse_args(arguments)
    if unknown := set(options.names) - by_name.keys():
        parser.error(f"no harness is named {', '.join(sorted(unknown))}; there are {', '.join(by_name)}")
    rows: list[Figures] = []
    with tempfile.TemporaryDirectory() as named:
        for name in options.names or by_name:
            harness = by_name[name]
            runs = options.runs or (harness.LONG if options.long else harness.QUICK)
            print(f"{name} ...", file=sys.stderr, flush=True)
            rows += run(harness, Path(named) / name, runs=runs, seed=options.seed)
    print(table(rows))
    return 0 if all(row.right for row in rows) else 1


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as home:
        os.environ["GRADECHECK_CACHE"] = str(Path(home) / "cache")
        os.environ["GRADECHECK_SETTINGS"] = str(Path(home) / "settings")
        sys.exit(main())
