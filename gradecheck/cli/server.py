"""The verb `office`: a PostgreSQL server where the jobs of many crews meet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.options import Options, Reply, flag, named, verb
from gradecheck.office.address import Address, address, is_address
from gradecheck.office.connection import BrokenOffError, Link, RefusedError
from gradecheck.office.here import Here, server_in
from gradecheck.office.init import Made, init

INIT, HERE = "init", "here"


@dataclass(frozen=True, kw_only=True, slots=True)
class Office(Options):
    what: str = named(
        "WHAT",
        choices=(INIT, HERE),
        help=_("init: tables and rules on a server; here: a server of your own in a folder"),
    )
    where: str = named("URL|FOLDER", help=_("init: postgresql://NAME@HOST/DATABASE; here: a folder"))
    stop: bool = flag("--stop", _("here: stop the server in that folder"))


@verb(Office)
def office(options: Office) -> Reply:
    """Makes an office on a server, or a server of one's own; 1 where a rule of it had been weakened."""
    if options.what == HERE:
        return _here(options)
    if options.stop:
        raise Refusal(_("--stop belongs to office here FOLDER."))
    if not is_address(options.where):
        raise Refusal(_("Name the server, like postgresql://NAME@HOST:5432/DATABASE; office here FOLDER starts one."))
    at = address(options.where)
    made = made_on(at)
    answer = {"office": str(at), "new": made.new, "weakened": list(made.weakened)}
    return Reply(answer, _made_lines(at, made), code=1 if made.weakened else 0, saved=True)


def _here(options: Office) -> Reply:
    if is_address(options.where):
        raise Refusal(
            _("office here starts a server in a folder; name that. On a server that runs: office init URL.")
        )
    server = server_in(Path(options.where))
    if options.stop:
        server.stop()
        says = _("The server in {folder} is stopped; all that it got lies there.", folder=options.where)
        return Reply({"folder": options.where, "runs": False}, [says])
    here = server.start()
    made = made_on(here.address)
    answer = {
        "folder": options.where,
        "runs": True,
        "office": str(here.address),
        "password file": str(here.passwords),
        "weakened": list(made.weakened),
    }
    return Reply(answer, _here_lines(options, here, made), code=1 if made.weakened else 0, saved=True)


def made_on(at: Address) -> Made:
    """Tables and rules on that server. Raises Refusal."""
    try:
        with Link(at) as link:
            return init(link)
    except BrokenOffError as wrong:
        raise Refusal(_("Nothing was made ({why}). Try again when that is mended.", why=wrong)) from None
    except RefusedError as wrong:
        why = wrong.says
        raise Refusal(_("Nothing was made; the server says: {why}.", why=why)) from None


def _made_lines(at: Address, made: Made) -> Iterator[str]:
    if made.new:
        yield _("{address}: the office is made, with its tables and rules.", address=at)
    elif made.weakened:
        yield _("{address}: these were not as they are meant to be, and are again:", address=at)
        yield from (f"  {each}" for each in made.weakened)
        yield _(
            "Someone who may change the server weakened them; compare what it holds: "
            "gradecheck verify JOB --against URL."
        )
    else:
        yield _("{address}: the office is there, its rules as they are meant to be.", address=at)


def _here_lines(options: Office, here: Here, made: Made) -> Iterator[str]:
    yield from _made_lines(here.address, made)
    yield _(
        "Its password lies in {passwords}; programs find it with PGPASSFILE={passwords}.", passwords=here.passwords
    )
    yield _(
        "For trying out: this server has no TLS, so only this machine can reach it. "
        "To stop it: gradecheck office here {folder} --stop",
        folder=options.where,
    )
