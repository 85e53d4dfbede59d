"""What each package of the everyday install takes here: `python -m tests.bench.dependencies` prints it.

Megabytes are those of its own files; milliseconds of processor time are those of importing it with what it imports.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib.metadata import distribution
from pathlib import Path

ROOT = Path(__file__).parents[2]
IMPORTED = {"pyyaml": "yaml"}
"""Where a package is imported by another name."""
TIMED = "import time; a = time.process_time(); import {}; print(round(1000 * (time.process_time() - a)))"


def asked() -> list[str]:
    """The names of the packages that the everyday install asks for."""
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    return [re.split(r"[^\w-]", each)[0] for each in told]


def main() -> None:
    """Prints a line for each."""
    for name in asked():
        found = distribution(name)
        paths = [Path(str(found.locate_file(each))) for each in found.files or ()]
        size = sum(path.stat().st_size for path in paths if path.is_file())
        timed = [sys.executable, "-c", TIMED.format(IMPORTED.get(name, name))]
        took = subprocess.run(timed, capture_output=True, text=True, check=True).stdout.strip()
        licence = found.metadata.get("License-Expression") or (found.metadata.get("License") or "").split("\n")[0]
        print(f"| {name} {found.version} | {licence[:40]} | {size / 1e6:.1f} | {took} |")


if __name__ == "__main__":
    main()
