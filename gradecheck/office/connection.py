"""A connection to an office's server: every wait on it has an end, and nothing it says of itself is passed on unseen.

No setting of libpq ends a wait for a server whose machine still answers, so a watchdog closes the connection.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import TYPE_CHECKING, Any

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.office.address import VERIFIED, Address, is_loopback, refuse_open_password_file

if TYPE_CHECKING:
    import psycopg

Record = tuple[Any, ...]
OLDEST = 150000
"""The first version of PostgreSQL that has all that is asked of it."""
LONGEST_WORD = 300
"""Letters of what a server says of a refusal; whoever wrote more is no server of ours."""


@dataclass(frozen=True, slots=True)
class Waits:
    """Seconds after which each wait ends."""

    connect: float = 5
    statement: float = 60
    lock: float = 5
    idle: float = 10
    answer: float = 75
    """Without a sign of anything moving, where the server's own clocks did not end it."""


class BrokenOffError(Exception):
    """The connection ended, or an answer did not come in time: what was sent last may be there or not."""


class AwayError(Refusal):
    """Nobody answers: the laptop is offline, or the server does not run. That is nothing out of the way."""


class UnreachedError(BrokenOffError):
    """There is no connection; `away` where nobody is there, else something is not as it must be."""

    def __init__(self, says: str, *, away: bool) -> None:
        self.away = away
        super().__init__(says)


class RefusedError(Exception):
    """The server refused what it was sent, and would do so again; `state` is its five letters for why."""

    def __init__(self, state: str, says: str) -> None:
        self.state, self.says = state, says
        super().__init__(says)


_NOT_REACHED = (
    ("password authentication failed", _("its name or password is wrong")),
    ("no password supplied", _("there is no password for it; put it into a password file (~/.pgpass)")),
    ("authentication", _("it does not ask for the password in a safe way (SCRAM)")),
    ("certificate", _("its certificate can't be verified")),
    ("SSL", _("it has no TLS")),
    ("service", _("the service file does not name it")),
    ("does not exist", _("it has no such database or name")),
    ("too many", _("it has too many connections right now")),
    ("connection slots", _("it has too many connections right now")),
    ("starting up", _("it is just starting up")),
    ("shutting down", _("it is shutting down")),
    ("not permitted to log in", _("that name may not log in")),
)
"""Why there is no connection, by words of libpq's own message; that itself may hold a password."""
_AWAY = ("too many", "starting up", "shutting down")
"""Of those what goes over by itself."""


class Link:
    """One open connection; closed when it is left. Everything raises `BrokenOffError` or `RefusedError`."""

    def __init__(self, at: Address, waits: Waits | None = None) -> None:
        """Connects. Raises `BrokenOffError` where nobody answers, Refusal where the server must not be talked to."""
        waits = waits or WAITS
        refuse_open_password_file(at)
        self.at = at
        self._waits = waits
        self._until: float | None = None
        self._closed = threading.Event()
        self.connection = _connected(at, waits)
        try:
            _check_safe(self.connection, at)
        except BaseException:
            self.connection.close()
            raise
        threading.Thread(target=self._watch, name="watchdog of the office", daemon=True).start()

    def __enter__(self) -> Link:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, wrong: BaseException | None, at: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Ends the connection, whatever it waits for."""
        self._closed.set()
        self.connection.close()

    @property
    def version(self) -> int:
        """Of the server: 150004 is 15.4."""
        return self.connection.info.server_version

    @property
    def user(self) -> str:
        """The role that is connected."""
        return self.connection.info.user

    def rows(self, query: str, values: Sequence[object] | None = None) -> list[Record]:
        """All rows that answer, or none where nothing does."""
        with self.step():
            cursor = self.connection.execute(query.encode(), values, binary=values is not None)
            return cursor.fetchall() if cursor.description is not None else []

    def changed(self, query: str, values: Sequence[object] | None = None) -> int:
        """How many rows it changed."""
        with self.step():
            return self.connection.execute(query.encode(), values).rowcount

    def heard(self, seconds: float) -> bool:
        """Whether the server had a word, on a channel that is listened to, in so many seconds."""
        with self.step():
            return bool(list(self.connection.notifies(timeout=seconds, stop_after=1 if seconds else None)))

    def copy_in(self, query: str, rows: Iterable[Sequence[object]], types: Sequence[str]) -> None:
        """Sends rows by COPY, in its binary form."""
        with self.step(), self.connection.cursor() as cursor, cursor.copy(query.encode()) as copy:
            copy.set_types(types)
            for row in rows:
                copy.write_row(row)
                self._go_on()

    def new_role(self, name: str, password: str, group: str) -> None:
        """A role that may log in with that password; what is sent of it is only what the server checks it by."""
        from psycopg import sql

        check = self.connection.pgconn.encrypt_password(password.encode(), name.encode(), b"scram-sha-256")
        query = sql.SQL("create role {} login password {} in role {}")
        with self.step():
            self.connection.execute(query.format(sql.Identifier(name), check.decode(), sql.Identifier(group)))

    @contextlib.contextmanager
    def together(self) -> Iterator[None]:
        """What is sent within is kept whole, or not at all. An error on leaving says that nobody knows which."""
        with self._errors_named():
            transaction = self.connection.transaction()
            with self.step():
                transaction.__enter__()
            try:
                yield
            except BaseException as wrong:
                with contextlib.suppress(Exception), self.step():
                    transaction.__exit__(type(wrong), wrong, wrong.__traceback__)
                raise
            with self.step():
                transaction.__exit__(None, None, None)

    @contextlib.contextmanager
    def step(self) -> Iterator[None]:
        """One thing that is waited for, and no longer than that."""
        self._go_on()
        try:
            with self._errors_named():
                yield
        finally:
            self._until = None

    def _go_on(self) -> None:
        self._until = time.monotonic() + self._waits.answer

    def _watch(self) -> None:
        # Looked at now and then, and never waked: that would cost more than what is sent.
        while not self._closed.wait(self._waits.answer / 4):
            until = self._until
            if until is not None and until < time.monotonic():
                self.connection.close()
                return

    @contextlib.contextmanager
    def _errors_named(self) -> Iterator[None]:
        import psycopg

        try:
            yield
        except (psycopg.OperationalError, psycopg.InterfaceError) as wrong:
            raise BrokenOffError(_("the server broke off, or did not answer in time")) from wrong
        except psycopg.Error as wrong:
            if self.connection.closed:
                raise BrokenOffError(_("the server broke off, or did not answer in time")) from wrong
            says = " ".join((wrong.diag.message_primary or type(wrong).__name__).split())[:LONGEST_WORD]
            raise RefusedError(wrong.sqlstate or "", says) from wrong
        except (UnicodeError, OverflowError) as wrong:
            raise RefusedError("", _("its answer can't be read")) from wrong


WAITS = Waits()


def _connected(at: Address, waits: Waits) -> psycopg.Connection[Record]:
    try:
        import psycopg
    except ImportError as wrong:
        raise Refusal(
            _("An office on a server needs two more packages: pip install “gradecheck[office]”.")
        ) from wrong
    gone = round(waits.connect * 2000)
    kept_alive = {"keepalives_idle": 5, "keepalives_interval": 2, "keepalives_count": 3}
    # The server watches too: while it waits for more of a COPY none of its own clocks runs, and its locks stay.
    settings = {
        "statement_timeout": round(waits.statement * 1000),
        "lock_timeout": round(waits.lock * 1000),
        "idle_in_transaction_session_timeout": round(waits.idle * 1000),
        "tcp_user_timeout": gone,
        **{f"tcp_{name}": number for name, number in kept_alive.items()},
    }
    options: dict[str, Any] = {
        "connect_timeout": max(2, round(waits.connect)),
        "tcp_user_timeout": gone,
        **kept_alive,
        "application_name": "gradecheck",
        "client_encoding": "utf8",
        "options": " ".join(f"-c {name}={number}" for name, number in settings.items()),
        **at.parts,
    }
    options |= _safety(at, psycopg.pq.version())
    try:
        return psycopg.connect("", autocommit=True, prepare_threshold=None, **options)
    except psycopg.Error as wrong:
        said = str(wrong)
        known = next(((word, why) for word, why in _NOT_REACHED if word in said), None)
        why, away = (known[1], known[0] in _AWAY) if known is not None else (_("nothing answers there"), True)
    except (ValueError, OSError, UnicodeError):
        why, away = _("there is no such address"), True
    raise UnreachedError(_("{address}: {why}", address=at, why=why), away=away) from None


def _safety(at: Address, libpq: int) -> dict[str, str]:
    """What is asked of the server before anything is told it. Raises Refusal."""
    if not at.host:  # named by a service file or the environment; looked at once it is known
        return {}
    if is_loopback(at.host):
        return {"require_auth": "scram-sha-256"} if libpq >= 160000 else {}
    mode = at.named.get("sslmode", VERIFIED[0])
    if mode not in VERIFIED or (mode != VERIFIED[0] and "sslrootcert" not in at.named):
        raise _not_verified()
    return {"sslmode": mode}


def _check_safe(connection: psycopg.Connection[Record], at: Address) -> None:
    """Whether nobody on the way can read along or stand in for the server. Raises Refusal."""
    info = connection.info
    if not is_loopback(info.host):
        mode = info.get_parameters().get("sslmode", "")
        if not connection.pgconn.ssl_in_use or mode not in VERIFIED:
            raise _not_verified()
    if info.server_version < OLDEST:
        raise Refusal(_("{address} is older than PostgreSQL 15, which an office needs.", address=at))


def _not_verified() -> Refusal:
    return Refusal(
        _(
            "On a network others can read along: the office's server needs TLS with a verified "
            "certificate (sslmode=verify-full)."
        )
    )
