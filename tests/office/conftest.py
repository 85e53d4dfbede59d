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
from tests.office.servers import ELSEWHERE, programs, room, running

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
