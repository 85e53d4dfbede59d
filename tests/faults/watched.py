"""The program with all that it does beyond itself written down: what it would reach for on a network, or start."""

from __future__ import annotations

import atexit
import os
import shlex
import socket
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from gradecheck.cli import main

WAYS_OUT = (
    *("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "poplib.", "imaplib.", "nntplib.", "telnetlib."),
    *("subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "os.startfile", "webbrowser."),
)
"""How the events begin that Python raises where something goes out, or another program is started that could."""
HANDSHAKE = "socket.__new__ AF_UNIX"
"""The pair of sockets within the process by which an event loop wakes itself; nothing comes in or goes out there."""


def watch(to: Path) -> None:
    """From now on each such event is a line in that file; at the end, how many events of any kind there were."""
    log = os.open(to, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    seen: Counter[str] = Counter()

    def note(event: str, arguments: tuple[Any, ...]) -> None:
        seen["all"] += 1
        if event.startswith(WAYS_OUT):
            unix = event == "socket.__new__" and arguments[1] == getattr(socket, "AF_UNIX", None)
            line = HANDSHAKE if unix else f"{event} {arguments!r}"
            os.write(log, f"{line[:200]}\n".encode("utf-8", "replace"))

    sys.addaudithook(note)
    atexit.register(lambda: os.write(log, f"events {seen['all']}\n".encode()))


def several(lines: list[str], run: Callable[[list[str]], int]) -> int:
    """Runs a command for each line; 0, or 2 after a word on each that was not understood."""
    wrong = 0
    for line in lines:
        if run(shlex.split(line)) > 1:
            print(f"not understood: {line}", file=sys.stderr)
            wrong = 2
    return wrong


def _call_home() -> None:
    with socket.socket() as caller:
        caller.settimeout(0.1)
        caller.connect_ex(("127.0.0.1", 9))


if __name__ == "__main__":
    # The log, then `calling` for a program that calls home, then `each` for a file of commands, or one command.
    log_name, *given = sys.argv[1:]
    watch(Path(log_name))
    if given[0] == "calling":
        _call_home()
        given = given[1:]
    if given[0] == "each":
        sys.exit(several(Path(given[1]).read_text(encoding="utf-8").splitlines(), main))
    sys.exit(main(given))
