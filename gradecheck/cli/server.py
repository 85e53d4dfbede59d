"""The verb `office`: a PostgreSQL server where the jobs of many crews meet."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.cli.options import Call, Options, Reply, as_path, flag, named, option, verb
from gradecheck.cli.shared import open_session
from gradecheck.office.address import Address, address, is_address
from gradecheck.office.connection import BrokenOffError, Link, RefusedError
from gradecheck.office.here import Here, server_in, write_private
from gradecheck.office.init import Made, init
from gradecheck.office.share import Added, add

INIT, HERE, ADD = "init", "here", "add"


@dataclass(frozen=True, kw_only=True, slots=True)
class OfficeOptions(Options):
    what: str = named(
        "WHAT",
        choices=(INIT, ADD, HERE),
        help=_(
            "init: tables and rules on a server; add: a job and its laptops; here: a server of your own in a folder"
        ),
    )
    where: str = named("URL|FOLDER", help=_("postgresql://NAME@HOST/DATABASE; with here a folder"))
    job: Path | None = named("[JOB]", None, type=as_path, help=_("add: the job, whose plan goes to the laptops"))
    laptop: list[str] | None = option(
        "--laptop", action="append", metavar="NAME", help=_("add: who works on it; can be repeated")
    )
    stop: bool = flag("--stop", _("here: stop the server in that folder"))


@verb(OfficeOptions)
def office(options: OfficeOptions) -> Reply:
    """Makes an office on a server, gives it a job, or runs a server; 1 where a rule of it had been weakened."""
    if options.what != ADD and (options.job is not None or options.laptop):
        raise Refusal(_("A job and its laptops belong to office add URL JOB --laptop NAME."))
    if options.stop and options.what != HERE:
        raise Refusal(_("--stop belongs to office here FOLDER."))
    if options.what == HERE:
        return _here(options)
    if not is_address(options.where):
        raise Refusal(_("Name the server, like postgresql://NAME@HOST:5432/DATABASE; office here FOLDER starts one."))
    at = address(options.where)
    if options.what == ADD:
        return _add(options, at)
    made = made_on(at)
    answer = {"office": str(at), "new": made.new, "weakened": list(made.weakened)}
    return Reply(answer, _made_lines(at, made), code=1 if made.weakened else 0, saved=True)


@dataclass(frozen=True, slots=True)
class _Job:
    job: Path


def _add(options: OfficeOptions, at: Address) -> Reply:
    if options.job is None:
        raise Refusal(_("Name the job: office add URL JOB --laptop NAME."))
    names = list(dict.fromkeys(options.laptop or ()))
    files: dict[str, str] = {}

    def keep_password(name: str, line: str) -> None:
        write_private(_password_file(name), line)
        files[name] = _password_file(name)

    with open_session(Call("office"), _Job(options.job)) as session:
        added = add(session, at, names, keep_password)
    answer = {"office": str(at), "job": added.job.name, "plan": added.plan, "laptops": names, "password files": files}
    return Reply(answer, _added_lines(at, added, names, files), saved=True)


def _password_file(name: str) -> str:
    return f"{name}.pgpass"


def _added_lines(at: Address, added: Added, names: Sequence[str], files: Mapping[str, str]) -> Iterator[str]:
    yield _(
        "{address}: {job} is there with plan {number}, for {laptops}.",
        address=at,
        job=added.job.name,
        number=added.plan,
        laptops=", ".join(names) or _("no laptop yet"),
    )
    for name in names:
        if name in files:
            yield _("The password of {name} is in {file}; put it on that laptop as ~/.pgpass (chmod 600).",
                    name=name, file=files[name])  # fmt: skip
    if names:
        yield _(
            "On that laptop: gradecheck share JOB {address}", address=dataclasses.replace(at, user=names[0], named={})
        )


def _here(options: OfficeOptions) -> Reply:
    if is_address(options.where):
        raise Refusal(
            _("office here starts a server in a folder; name that. On a server that runs: office init URL.")
        )
    server = server_in(Path(options.where))
    if options.stop:
        server.stop()
        says = _("The server in {folder} is stopped; everything it received is still there.", folder=options.where)
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
        raise Refusal(_("Nothing was made ({why}). Try again when that is fixed.", why=wrong)) from None
    except RefusedError as wrong:
        why = wrong.says
        raise Refusal(_("Nothing was made; the server says: {why}.", why=why)) from None


def _made_lines(at: Address, made: Made) -> Iterator[str]:
    if made.new:
        yield _("{address}: the office is made, with its tables and rules.", address=at)
    elif made.weakened:
        yield _("{address}: these rules were changed, and are set right again:", address=at)
        yield from (f"  {each}" for each in made.weakened)
        yield _(
            "Someone with rights on the server weakened them. Compare what it holds: gradecheck "
            "verify JOB --against URL."
        )
    else:
        yield _("{address}: the office is there, and its rules are as they should be.", address=at)


def _here_lines(options: OfficeOptions, here: Here, made: Made) -> Iterator[str]:
    yield from _made_lines(here.address, made)
    yield _("Its password is in {passwords}; programs find it with PGPASSFILE={passwords}.", passwords=here.passwords)
    yield _(
        "For trying out: this server has no TLS, so only this machine can reach it. "
        "To stop it: gradecheck office here {folder} --stop",
        folder=options.where,
    )
