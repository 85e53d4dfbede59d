"""`python -m gradecheck.bundle`: from the program's source, one file for each kind of laptop."""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.bundle.machines import MACHINES
from gradecheck.bundle.make import make
from gradecheck.catalogue import _


def main() -> int:
    """Makes them and names each; returns the exit code."""
    here = f"{sys.version_info[0]}.{sys.version_info[1]}"
    parser = argparse.ArgumentParser(
        prog="python -m gradecheck.bundle",
        description=_(
            "Makes what installs gradecheck without a network: the wheels in one file, and a single-file app."
        ),
    )
    parser.add_argument("-o", "--output", type=Path, default=Path("dist"), metavar="FOLDER", help=_("where to"))
    parser.add_argument(
        "--for", dest="machines", action="append", choices=MACHINES, help=_("which laptops; else linux and windows")
    )
    parser.add_argument(
        "--python", dest="pythons", action="append", type=_python, metavar="3.N",
        help=_("which Python they have, this one if nothing is said; may be given again"),
    )  # fmt: skip
    parser.add_argument("source", nargs="?", type=Path, default=Path(), help=_("the folder of the program's source"))
    asked = parser.parse_args()
    machines, pythons = asked.machines or ["linux", "windows"], asked.pythons or [here]
    try:
        for path in make(asked.source, asked.output, list(dict.fromkeys(machines)), list(dict.fromkeys(pythons))):
            print(_("{path}  {size} MB", path=path, size=round(path.stat().st_size / 1e6)))
    except (Refusal, OSError) as wrong:
        print(str(wrong), file=sys.stderr)
        return 2
    return 0


def _python(text: str) -> str:
    if not re.fullmatch(r"3\.\d+", text) or int(text[2:]) < 11:
        raise argparse.ArgumentTypeError(_("give a version from 3.11 on"))
    return text


if __name__ == "__main__":
    sys.exit(main())
