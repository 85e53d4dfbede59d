"""A PostgreSQL of the tests' own: the packaged one and, where the machine has it, a 15."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from gradecheck.office.here import Here, Server, packaged_programs

ELSEWHERE = Path("/usr/lib/postgresql/15/bin")
"""Where a packaged 15 lies on some machines."""


def other_user() -> str | None:
    """PostgreSQL refuses to run as root; then it is somebody who owns nothing."""
    return "nobody" if os.geteuid() == 0 else None


def programs(into: Path) -> Path:
    """The packaged programs where that user can run them: beside the tests' own files where it can't get at them."""
    found = packaged_programs()
    assert found is not None, "the test command installs it"
    with contextlib.suppress(OSError):
        subprocess.run([found / "postgres", "--version"], user=other_user(), check=True, capture_output=True)
        return found
    package, site = found.parents[1], found.parents[2]
    for each in site.glob(f"{package.name}*"):  # beside it lie the libraries that its programs load
        if each.is_dir() and each.suffix != ".dist-info" and not (into / each.name).exists():
            shutil.copytree(each, into / each.name, ignore=shutil.ignore_patterns("include", "pgxs", "doc"))
    return into / found.relative_to(site)


@contextlib.contextmanager
def room() -> Iterator[Path]:
    """A folder that the other user can get at, gone afterwards."""
    path = Path(tempfile.mkdtemp(prefix="gradecheck-office-"))
    path.chmod(0o755)
    try:
        yield path
    finally:
        shutil.rmtree(path)


@contextlib.contextmanager
def running(path: Path, found: Path) -> Iterator[tuple[Server, Here]]:
    """A server that runs as long as it is needed."""
    server = Server(path, found, other_user())
    here = server.start()
    try:
        yield server, here
    finally:
        server.stop("immediate")
