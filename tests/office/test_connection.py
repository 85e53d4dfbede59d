"""Every wait on a server has an end, nothing secret is told, and nobody may read along or stand in for it."""

from __future__ import annotations

import contextlib
import dataclasses
import logging
import socket
import threading
import time
from pathlib import Path

import pytest

from gradecheck.actions import Refusal
from gradecheck.office import connection
from gradecheck.office.address import Address, address
from gradecheck.office.connection import BrokenOffError, Link, RefusedError, Waits
from gradecheck.office.here import Here, Server
from tests.cli.test_join import Out, said, yards
from tests.faults.relay import SILENT, Cut, Relay
from tests.office.conftest import Crews
from tests.office.servers import programs

__all__ = ["yards"]
SHORT = Waits(connect=2, statement=1, lock=0.5, idle=1, answer=0.6)


def test_a_server_that_takes_the_call_and_says_nothing_is_given_up() -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        began = time.monotonic()
        with pytest.raises(BrokenOffError):
            Link(Address("127.0.0.1", str(silent.getsockname()[1]), "north", "jobs"), SHORT)
        assert time.monotonic() - began < 10


@pytest.mark.parametrize(
    "says",
    [b"", b"N", b"S", b"HTTP/1.1 400 Bad Request\r\n\r\n", b"R\0\0\0\x08\0\0\0\0", b"E\x7f\xff\xff\xff", bytes(4096),
     b"R\0\0\0\x08\0\0\0\0Z\0\0\0\x05I" + b"D" * 99, b"\xff" * 9000, b"E\0\0\0\x20SFATAL\0Mhunter2\x1b[31m\0\0"],
    ids=["nothing", "no TLS", "TLS", "a web server", "let in", "a length beyond all", "zeros", "nonsense behind",
         "ones", "a message"],
)  # fmt: skip
def test_what_is_no_postgresql_is_given_up_with_a_sentence_of_ours(says: bytes) -> None:
    def answer(calls: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while True:
                call, _ = calls.accept()
                with call:
                    call.recv(4096)
                    call.sendall(says)

    with socket.create_server(("127.0.0.1", 0)) as calls:
        thread = threading.Thread(target=answer, args=(calls,), daemon=True)
        thread.start()
        began = time.monotonic()
        with pytest.raises((BrokenOffError, RefusedError, Refusal)) as wrong:
            Link(Address("127.0.0.1", str(calls.getsockname()[1]), "north", "jobs"), SHORT)
        assert "hunter2" not in str(wrong.value)
        assert str(wrong.value).isprintable()
        assert time.monotonic() - began < 10
        calls.shutdown(socket.SHUT_RDWR)


def test_where_nobody_answers_it_is_said_at_once() -> None:
    with socket.create_server(("127.0.0.1", 0)) as closed:
        port = str(closed.getsockname()[1])
    with pytest.raises(BrokenOffError, match=f"^postgresql://north@127.0.0.1:{port}/jobs: nothing answers there$"):
        Link(Address("127.0.0.1", port, "north", "jobs"))


def test_a_server_that_falls_silent_is_hung_up_on_by_the_watchdog(packaged: Here) -> None:
    relay = Relay(int(packaged.address.port))
    passwords = packaged.passwords.with_name("any.passwords")
    passwords.write_text(":".join(["*"] * 4) + ":" + packaged.passwords.read_text(encoding="ascii").split(":")[4])
    passwords.chmod(0o600)
    try:
        at = dataclasses.replace(packaged.address, port=str(relay.port), named={"passfile": str(passwords)})
        with Link(at, SHORT) as link:
            relay.cut = Cut(SILENT, False, relay.counted[False])
            began = time.monotonic()
            with pytest.raises(BrokenOffError, match="did not answer in time"):
                link.rows("select 1")
            assert time.monotonic() - began < 4 * SHORT.answer
    finally:
        relay.close()


def test_what_takes_too_long_on_the_server_ends_there(office: Address) -> None:
    with Link(office, dataclasses.replace(SHORT, answer=20)) as link:
        began = time.monotonic()
        with pytest.raises(BrokenOffError):
            link.rows("select pg_sleep(60)")
        assert time.monotonic() - began < 5
        assert link.rows("select 1") == [(1,)]


def test_a_lock_that_somebody_holds_is_not_waited_for_long(office: Address) -> None:
    with Link(office, dataclasses.replace(SHORT, answer=20)) as one, Link(office, SHORT) as other, one.together():
        one.rows("lock table gradecheck.job in access exclusive mode")
        began = time.monotonic()
        with pytest.raises(BrokenOffError):
            other.rows("select count(*) from gradecheck.job")
        assert time.monotonic() - began < 3


def test_a_session_left_in_the_middle_lets_go_by_itself(office: Address) -> None:
    with Link(office, dataclasses.replace(SHORT, answer=20)) as link:
        link.rows("begin")
        time.sleep(1.6)
        with pytest.raises(BrokenOffError):
            link.rows("select 1")


def test_the_server_notices_a_laptop_that_is_gone_in_the_middle_of_sending(office: Address) -> None:
    # While it waits for more of a COPY no other clock of its own runs, and what that locked stays locked.
    with Link(office) as link:
        [(idle,)] = link.rows("show tcp_keepalives_idle")
        [(interval,)] = link.rows("show tcp_keepalives_interval")
        [(count,)] = link.rows("show tcp_keepalives_count")
        [(data,)] = link.rows("show tcp_user_timeout")
    assert int(str(idle)) + int(str(interval)) * int(str(count)) <= 15  # by default two hours
    assert data in ("10000", "10s")  # ms


def test_the_watchdogs_end_with_their_connections(office: Address) -> None:
    before = threading.active_count()
    for _ in range(3):
        with Link(office) as link:
            link.rows("select 1")
    time.sleep(0.2)
    assert threading.active_count() <= before


def test_closing_from_elsewhere_ends_a_wait_at_once(office: Address) -> None:
    with Link(office, dataclasses.replace(SHORT, statement=30, answer=30)) as link:
        threading.Timer(0.2, link.close).start()
        began = time.monotonic()
        with pytest.raises(BrokenOffError):
            link.rows("select pg_sleep(20)")
        assert time.monotonic() - began < 5


# -- secrets


def test_a_wrong_password_is_told_in_a_sentence_without_it(
    crews: Crews, capsys: Out, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    [file] = Path().glob("south_*.pgpass")
    file.write_text("*:*:*:*:hunter2\n", encoding="ascii")
    [why] = said(capsys, "share", "south", crews.south, code=2)
    assert why.startswith("Nothing was shared (postgresql://south_")
    assert "its name or password is wrong" in why
    assert "hunter2" not in why + caplog.text
    file.unlink()
    [why] = said(capsys, "share", "south", crews.south, code=2)
    assert "there is no password for it; put it into a password file (~/.pgpass)" in why


def test_no_password_gets_into_the_job_the_settings_or_an_answer(
    crews: Crews, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    [file] = Path().glob("south_*.pgpass")
    word = file.read_text(encoding="ascii").strip().rpartition(":")[2]
    lines = said(capsys, "share", "south", crews.south) + said(capsys, "verify", "south", "--against", crews.south)
    file.unlink()
    monkeypatch.setenv("PGPASSWORD", word)
    lines += said(capsys, "share", "south", crews.south)
    assert word not in " ".join(lines)
    for path in [*Path("south").rglob("*"), *Path("settings south").rglob("*")]:
        assert not path.is_file() or word.encode() not in path.read_bytes(), path


def test_what_is_sent_of_a_new_password_is_not_the_password(packaged: Here, crews: Crews) -> None:
    [file] = Path().glob("north_*.pgpass")
    word = file.read_text(encoding="ascii").strip().rpartition(":")[2]
    assert (file.stat().st_mode & 0o777) == 0o600
    log = packaged.passwords.with_name("log").read_text(encoding="utf-8", errors="replace")
    assert word not in log
    with Link(crews.address) as link:
        [(kept,)] = link.rows("select rolpassword from pg_authid where rolname = %s", (crews.role("north"),))
    assert kept.startswith("SCRAM-SHA-256$")


# -- who may be talked to


@pytest.mark.parametrize("mode", ["disable", "allow", "prefer", "require", "verify-ca"])
def test_on_a_network_only_a_certificate_that_is_verified_will_do(mode: str, capsys: Out) -> None:
    url = f"postgresql://north@office.example/jobs?sslmode={mode}"
    [why] = said(capsys, "office", "init", url, code=2)
    assert why.endswith("with a verified certificate (sslmode=verify-full).")


def test_a_server_without_tls_is_talked_to_on_this_machine_alone(
    packaged: Here, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connection, "is_loopback", lambda host: False)
    with pytest.raises(BrokenOffError, match="it has no TLS"):
        Link(packaged.address)


def test_one_that_a_service_file_names_is_looked_at_too(
    packaged: Here, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    at = packaged.address
    services = tmp_path / "services"
    services.write_text(
        f"[yard]\nhost={at.host}\nport={at.port}\nuser={at.user}\ndbname={at.database}\n"
        f"passfile={at.named['passfile']}\nsslmode=disable\n",
        encoding="ascii",
    )
    monkeypatch.setenv("PGSERVICEFILE", str(services))
    with Link(address("postgresql:///?service=yard")) as link:
        assert link.rows("select 1") == [(1,)]
    monkeypatch.setattr(connection, "is_loopback", lambda host: False)
    with pytest.raises(Refusal, match="verify-full"):
        Link(address("postgresql:///?service=yard"))
    with pytest.raises(BrokenOffError, match="the service file does not name it"):
        Link(address("postgresql:///?service=yardd"))


def test_without_the_extra_it_says_what_to_install(capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "psycopg", None)
    [why] = said(capsys, "office", "init", "postgresql://north@localhost/jobs", code=2)
    assert why == "An office on a server needs two more packages: pip install “gradecheck[office]”."


def test_a_server_of_ones_own_wants_an_ordinary_user(
    capsys: Out, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("os.geteuid", lambda: 0)
    [why] = said(capsys, "office", "here", str(tmp_path / "office"), code=2)
    assert why == "PostgreSQL does not run as root; run this as an ordinary user."


def test_a_server_of_ones_own_is_made_started_and_stopped(
    place: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch, packaged: Here
) -> None:
    found, user = programs(place), "nobody" if __import__("os").geteuid() == 0 else None
    monkeypatch.setattr("gradecheck.cli.server.server_in", lambda folder: Server(folder.absolute(), found, user))
    folder = str(place / "desk")
    made, password, trying = said(capsys, "office", "here", folder)
    assert made.endswith(": the office is made, with its tables and rules.")
    assert password.endswith(f"PGPASSFILE={folder}/passwords.")
    assert trying.startswith("For trying out: this server has no TLS, so only this machine can reach it.")
    assert (Path(folder, "passwords").stat().st_mode & 0o777) == 0o600
    assert said(capsys, "office", "here", folder)[0].endswith(
        "the office is there, and its rules are as they should be."
    )
    said(capsys, "office", "here", folder, "--stop")
    said(capsys, "office", "here", folder, "--stop")
    url = made.partition(": ")[0]
    with pytest.raises(BrokenOffError):
        Link(address(url))
    assert said(capsys, "office", "here", folder)[0].startswith(url)
    said(capsys, "office", "here", folder, "--stop")
    Path(folder, "other").mkdir()
    [why] = said(capsys, "office", "here", str(Path(folder, "data", "base")), code=2)
    assert "is not empty, and no office is in it" in why


def test_the_packaged_server_asks_for_its_password_everywhere(packaged: Here, tmp_path: Path) -> None:
    lines = packaged.passwords.with_name("data").joinpath("pg_hba.conf").read_text(encoding="utf-8").splitlines()
    rules = [line.split()[-1] for line in lines if line.strip() and not line.startswith("#")]
    assert rules
    assert set(rules) == {"scram-sha-256"}
    nothing = tmp_path / "nothing"
    nothing.touch(0o600)
    with pytest.raises(BrokenOffError, match="there is no password for it"):
        Link(dataclasses.replace(packaged.address, named={"passfile": str(nothing)}))
