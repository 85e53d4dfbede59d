"""The address of an office's server, taken apart here first: what is wrong with one is never told by repeating it."""

from __future__ import annotations

import ipaddress
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import parse_qsl, quote, unquote, urlsplit

from gradecheck.actions import Refusal
from gradecheck.catalogue import _

SCHEMES = ("postgresql", "postgres")
MAY_NAME = ("passfile", "service", "sslcert", "sslcrl", "sslkey", "sslmode", "sslrootcert")
"""What may stand behind the question mark; all else is set here."""
VERIFIED = ("verify-full", "verify-ca")
_BEGINS = re.compile(rf"\s*(?:{'|'.join(SCHEMES)})\s*:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Address:
    """Where a server is, without any password. What is empty, a service file or the environment says."""

    host: str = ""
    port: str = ""
    user: str = ""
    database: str = ""
    named: Mapping[str, str] = field(default_factory=dict)

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else quote(self.host, safe=".-_")
        at = f"{quote(self.user, safe='')}@" if self.user else ""
        port = f":{self.port}" if self.port else ""
        service = f"?service={quote(self.named['service'], safe='')}" if "service" in self.named else ""
        return f"postgresql://{at}{host}{port}/{quote(self.database, safe='')}{service}"

    @property
    def parts(self) -> dict[str, str]:
        """What libpq is told of it."""
        settings = {"host": self.host, "port": self.port, "user": self.user, "dbname": self.database, **self.named}
        return {name: value for name, value in settings.items() if value}


def is_address(text: str) -> bool:
    """Whether that is meant as the address of a server, and not as a folder."""
    return _BEGINS.match(text) is not None


def address(text: str) -> Address:
    """The address in what was typed. Raises Refusal, without any word of it that may be secret."""
    if not text.isprintable() or any(each.isspace() for each in text):
        raise Refusal(_("The address of the office has a space or a line break in it; type it again."))
    try:
        parts = urlsplit(text)
        named = parse_qsl(parts.query, keep_blank_values=True, strict_parsing=bool(parts.query))
        host, port, user, password = parts.hostname or "", parts.port, parts.username or "", parts.password
        known = parts.scheme.lower() in SCHEMES and "//" in text and not parts.fragment
    except ValueError:
        known = False
    if not known:
        raise Refusal(_("The address of the office can't be read; it is like postgresql://NAME@HOST:5432/DATABASE."))
    if password is not None or any(name.lower() in ("password", "sslpassword") for name, _value in named):
        raise Refusal(
            _(
                "Leave the password out of the address, where others may read it: "
                "put it into a password file (~/.pgpass)."
            )
        )
    if not {name for name, _value in named} <= set(MAY_NAME) or len(dict(named)) != len(named):
        raise Refusal(
            _(
                "After the ? of the office's address only these may come, each once: {names}.",
                names=", ".join(MAY_NAME),
            )
        )
    if "," in parts.netloc:
        raise Refusal(_("The address of the office names several servers; name one."))
    database = unquote(parts.path.removeprefix("/"))
    if "/" in database or "\0" in database or "\0" in unquote(user):
        raise Refusal(_("The address of the office can't be read; it is like postgresql://NAME@HOST:5432/DATABASE."))
    return Address(host, str(port) if port is not None else "", unquote(user), database, dict(named))


def is_loopback(host: str) -> bool:
    """Whether that is this machine itself, whose network nobody else reads: by number, name, or a socket's path."""
    if host == "localhost" or host.startswith(("/", "@")):
        return True
    try:
        return ipaddress.ip_address(host.partition("%")[0]).is_loopback
    except ValueError:
        return False


def refuse_open_password_file(at: Address) -> None:
    """A password file that others may read is passed over by libpq, which warns across the screen. Raises Refusal."""
    if os.name != "posix":
        return
    path = Path(at.named.get("passfile") or os.environ.get("PGPASSFILE") or Path.home() / ".pgpass")
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return
    if mode & 0o077:
        raise Refusal(_("Others may read the password file {path}; chmod 600 it, then try again.", path=path))
