"""One server for all tests of a worker; each test has a database of its own in it."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck.office.address import Address
from gradecheck.office.connection import Link
from gradecheck.office.here import Here
from gradecheck.office.init import init
from tests.cli.test_join import JOB, Out, laptop, said, yards
from tests.office.servers import ELSEWHERE, programs, room, running

__all__ = ["yards"]
_NUMBERS = itertools.count()


@pytest.fixture(scope="session")
def place() -> Iterator[Path]:
    """A folder for servers."""
    with room() as path:
        yield path


@pytest.fixture(scope="session")
def packaged(place: Path) -> Iterator[Here]:
    """The packaged server."""
    with running(place / "packaged", programs(place)) as (_server, here):
        yield here


@pytest.fixture(scope="session")
def fifteen(place: Path) -> Iterator[Here]:
    """A PostgreSQL 15, where the machine has one."""
    if not ELSEWHERE.exists():
        pytest.skip("this machine has no PostgreSQL 15")
    with running(place / "fifteen", ELSEWHERE) as (_server, here):
        yield here


def empty(here: Here) -> Address:
    """A new database there; nothing is in it."""
    name = f"office_{next(_NUMBERS)}"
    with Link(here.address) as link:
        link.rows(f"create database {name}")
    return dataclasses.replace(here.address, database=name)


@pytest.fixture
def bare(packaged: Here) -> Address:
    """A database of its own on the packaged server, with nothing in it."""
    return empty(packaged)


@pytest.fixture
def office(bare: Address) -> Address:
    """An office on the packaged server, as its administrator gets at it."""
    with Link(bare) as link:
        init(link)
    return bare


@dataclasses.dataclass(frozen=True)
class Crews:
    """An office with a job, and how its two laptops and itself get at it."""

    address: Address
    office: str
    north: str
    south: str

    def role(self, laptop: str) -> str:
        """What the server calls it."""
        return f"{laptop}_{self.address.database}"


@pytest.fixture
def crews(office: Address, yards: pytest.MonkeyPatch, capsys: Out) -> Crews:
    """The two yards of `join`, whose job the office has for both; the commands run on south."""
    return crews_at(office, yards, capsys)


def crews_at(at: Address, patch: pytest.MonkeyPatch, capsys: Out) -> Crews:
    """The same at that office."""
    Path("desk").mkdir()
    Path("desk", "job.yaml").write_text(JOB, encoding="utf-8")
    laptop("desk", patch)
    names = [f"{name}_{at.database}" for name in ("north", "south")]
    urls = [url(at)]
    said(capsys, "office", "add", urls[0], "desk", "--laptop", names[0], "--laptop", names[1])
    for name in names:
        file = Path(f"{name}.pgpass").absolute()
        urls.append(f"postgresql://{name}@{at.host}:{at.port}/{at.database}?passfile={file}")
    laptop("south", patch)
    return Crews(at, *urls)


def url(at: Address) -> str:
    """What is typed to get there."""
    return f"{at}?passfile={at.named['passfile']}"
