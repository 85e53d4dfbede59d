"""What a server refuses, whoever asks: of a laptop, of the office, of its administrator's slips. On 18 and on 15."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from gradecheck.office.connection import Link, RefusedError
from gradecheck.office.here import Here, write_private
from gradecheck.office.init import init
from gradecheck.office.jobs import jobs
from tests.cli.test_join import Out, said, yards
from tests.office.by_hand import START, Made, add, begin, line, made, named
from tests.office.conftest import Crews, empty

__all__ = ["yards"]

NO_RIGHT, NOT_IN_CHAIN, MISSING, DOUBLE, IMPOSSIBLE = "42501", "23000", "P0002", "23505", "23514"


class Site:
    """An office with two laptops, and links to it that all tests of a server use one after the other."""

    def __init__(self, here: Here) -> None:
        self.at = empty(here)
        self.office = Link(self.at)
        init(self.office)
        self.roles = [f"{name}_{self.at.database}" for name in ("north", "south")]
        passwords = here.passwords.with_name(f"{self.at.database}.passwords")
        write_private(passwords, "*:*:*:*:plumb-line\n")
        for role in self.roles:
            self.office.new_role(role, "plumb-line", "gradecheck_laptop")
        self.laptop, self.other = (
            Link(dataclasses.replace(self.at, user=role, named={"passfile": str(passwords)})) for role in self.roles
        )


class Yard:
    """What an attacker has: links as a laptop, another one and the administrator; a job, and a chain of three."""

    def __init__(self, site: Site) -> None:
        self.laptop, self.other, self.office = site.laptop, site.other, site.office
        for link in (self.laptop, self.other, self.office):
            link.rows("discard all")
        self.role, self.other_role = site.roles
        self.job = uuid4()
        self.office.rows("insert into gradecheck.job (job, name) values (%s, 'Wickering Yard')", (self.job,))
        for role in site.roles:
            self.office.rows("insert into gradecheck.member (job, role) values (%s, %s)", (self.job, role))
        plan = "insert into gradecheck.plan (job, number, digest, content) values (%s, 1, repeat('0', 64), '')"
        self.office.rows(plan, (self.job,))
        self.rows = line(1, 3)
        self.chain = begin(self.laptop, self.job, self.role, self.rows[0])
        self.more(*self.rows)
        self.last = self.rows[-1][1].hex()
        head = "insert into gradecheck.head (job, laptop, number, hash) values (%s, 'north', 3, %s)"
        self.laptop.rows(head, (self.job, self.rows[-1][1]))

    def more(self, *rows: Made, chain: UUID | None = None) -> None:
        """Entries as the laptop sends them, to its own chain unless another is named."""
        add(self.laptop, self.job, chain or self.chain, *rows)

    @property
    def count(self) -> int:
        """How many entries of the job there are."""
        number: int = self.laptop.rows("select count(*) from gradecheck.entry where job = %s", (self.job,))[0][0]
        return number

    @property
    def part(self) -> str:
        """The part that they lie in."""
        query = "select distinct tableoid::regclass::text from gradecheck.entry where job = %s"
        return str(self.office.rows(query, (self.job,))[0][0]).removeprefix("gradecheck.")


@pytest.fixture(scope="module")
def sites() -> Iterator[dict[Path, Site]]:
    """One for each server."""
    made: dict[Path, Site] = {}
    yield made
    for site in made.values():
        for link in (site.laptop, site.other, site.office):
            link.close()


@pytest.fixture(params=["packaged", "fifteen"])
def yard(request: pytest.FixtureRequest, sites: dict[Path, Site]) -> Yard:
    """A job of its own."""
    here: Here = request.getfixturevalue(request.param)
    if here.passwords not in sites:
        sites[here.passwords] = Site(here)
    return Yard(sites[here.passwords])


def refused(state: str, what: Callable[[], object]) -> None:
    with pytest.raises(RefusedError) as wrong:
        what()
    assert wrong.value.state == state, wrong.value.says


def test_what_continues_its_chain_is_taken(yard: Yard) -> None:
    yard.more(*line(4, 2, yard.last))
    assert yard.count == 5
    one, other = line(1, 2, text="a"), line(1, 2, text="b")
    first, second = (begin(yard.laptop, yard.job, yard.role, each[0]) for each in (one, other))
    shuffled = [(first, *one[1]), (second, *other[1]), (second, *other[0]), (first, *one[0])]
    yard.laptop.rows(
        "insert into gradecheck.entry (job, chain, number, hash, content) "
        "select %s, * from unnest(%s::uuid[], %s::bigint[], %s::bytea[], %s::bytea[])",
        (yard.job, *map(list, zip(*shuffled, strict=True))),
    )
    assert yard.count == 9


def test_a_chain_goes_on_only_from_an_entry_that_is_there(yard: Yard) -> None:
    second = yard.rows[1][1].hex()
    [fork] = line(3, 1, second, "fork")
    chain = begin(yard.other, yard.job, yard.other_role, fork, parent=yard.chain, before=second)
    add(yard.other, yard.job, chain, fork)
    other = made(3, START, "from nowhere")
    begun = partial(begin, yard.other, yard.job, yard.other_role, other)
    refused(MISSING, lambda: begun(parent=yard.chain, before="ab" * 32))
    refused(MISSING, lambda: begun(parent=uuid4(), before=second))
    refused(IMPOSSIBLE, lambda: begun(parent=None, before=second))


@pytest.mark.parametrize(
    ("state", "rows"),
    [
        (MISSING, lambda last: line(5, 1, last)),
        (NOT_IN_CHAIN, lambda last: [line(4, 1, last)[0], line(4, 3, last)[2]]),
        (DOUBLE, lambda _last: line(1, 1)),
        (NOT_IN_CHAIN, lambda _last: line(4, 1, "ab" * 32)),
        (NOT_IN_CHAIN, lambda last: [(4, line(4, 1, last)[0][1], line(4, 1, last, "changed")[0][2])]),
        (NOT_IN_CHAIN, lambda last: [made(4, last, says=5)]),
        (NOT_IN_CHAIN, lambda last: [made(4, last), made(5, last)]),
        (IMPOSSIBLE, lambda last: [made(0, last)]),
        (IMPOSSIBLE, lambda last: [made(2**53, last)]),
        (IMPOSSIBLE, lambda last: [(4, b"", b"[]")]),
        (IMPOSSIBLE, lambda last: [made(4, last, "x" * (4 << 20))]),
        (NOT_IN_CHAIN, lambda last: [made(4, f"{last[:-2]}\\\\x")]),
    ],
    ids=["a gap before", "a gap within", "an entry once more", "of another chain", "changed behind its hash",
         "says another number", "both behind the same", "number 0", "a number too high", "no content", "too long",
         "no hash before it"],
)  # fmt: skip
def test_what_does_not_continue_its_chain_is_refused(
    yard: Yard, state: str, rows: Callable[[str], list[Made]]
) -> None:
    refused(state, lambda: yard.more(*rows(yard.last)))
    assert yard.count == 3


def test_another_laptops_chain_is_closed_to_it(yard: Yard) -> None:
    refused(NO_RIGHT, lambda: add(yard.other, yard.job, yard.chain, *line(4, 1, yard.last)))
    refused(NO_RIGHT, lambda: add(yard.office, yard.job, yard.chain, *line(4, 1, yard.last)))
    refused(NO_RIGHT, lambda: yard.more(*line(1, 1), chain=uuid4()))


def test_nobody_takes_another_ones_name_for_a_chain(yard: Yard) -> None:
    first = line(1, 1, text="of south")[0]
    theirs = named(yard.other_role, first)
    start = "insert into gradecheck.chain (job, chain, first, start, before) values (%s, %s, %s, 1, %s)"
    refused(IMPOSSIBLE, lambda: yard.laptop.rows(start, (yard.job, theirs, first[1], bytes(32))))
    as_other = "insert into gradecheck.chain (job, chain, role, first, start, before) values (%s, %s, %s, %s, 1, %s)"
    values = (yard.job, theirs, yard.other_role, first[1], bytes(32))
    refused(NO_RIGHT, lambda: yard.laptop.rows(as_other, values))
    refused(
        NOT_IN_CHAIN,
        lambda: yard.more(line(1, 1, text="else")[0], chain=begin(yard.laptop, yard.job, yard.role, first)),
    )


CHANGES = (
    "update gradecheck.{table} set job = job",
    "delete from gradecheck.{table}",
    "truncate gradecheck.{table} cascade",
)
TABLES = ("entry", "chain", "head", "plan", "job")


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("table", [*TABLES, "part"])
def test_what_is_there_is_never_changed_whoever_asks(yard: Yard, change: str, table: str) -> None:
    query = change.format(table=yard.part if table == "part" else table)
    for link in (yard.laptop, yard.office):
        refused(NO_RIGHT, lambda link=link: link.rows(query))  # type: ignore[misc]
    yard.office.rows("set session_replication_role = replica")
    refused(NO_RIGHT, lambda: yard.office.rows(query))
    yard.office.rows("set session_replication_role = origin")
    yard.office.rows("set role gradecheck_owner")
    refused(NO_RIGHT, lambda: yard.office.rows(query))
    yard.office.rows("set role gradecheck_office")
    refused(NO_RIGHT, lambda: yard.office.rows(query))
    yard.office.rows("reset role")
    assert yard.count == 3


def test_merge_and_upsert_are_changes_too(yard: Yard) -> None:
    upsert = (
        "insert into gradecheck.entry select * from gradecheck.entry "
        "on conflict (job, chain, number) do update set content = excluded.content"
    )
    refused(NO_RIGHT, lambda: yard.office.rows(upsert))
    merge = (
        "merge into gradecheck.entry using gradecheck.entry x on (entry.hash = x.hash) "
        "when matched then update set content = ''"
    )
    refused(NO_RIGHT, lambda: yard.office.rows(merge))


def test_an_entry_put_straight_into_its_part_is_held_to_its_chain(yard: Yard) -> None:
    part = yard.part
    refused(NO_RIGHT, lambda: add(yard.office, yard.job, yard.chain, *line(4, 1, yard.last), into=part))
    yard.office.rows("set session_replication_role = replica")
    refused(NO_RIGHT, lambda: add(yard.office, yard.job, yard.chain, *line(4, 1, yard.last), into=part))
    refused(NO_RIGHT, lambda: add(yard.laptop, yard.job, yard.chain, *line(4, 1, yard.last), into=part))
    refused(NO_RIGHT, lambda: yard.laptop.rows(f"select from gradecheck.{part}"))


def test_a_laptop_sees_and_writes_only_jobs_it_works_on(yard: Yard) -> None:
    yard.office.rows("delete from gradecheck.member where role = %s", (yard.other_role,))
    for table in ("job", "chain", "entry", "plan", "head", "progress", "member"):
        query = f"select from gradecheck.{table} where job = %s"
        assert yard.other.rows(query, (yard.job,)) == [], table
    first = line(1, 1)[0]
    refused(NO_RIGHT, lambda: begin(yard.other, yard.job, yard.other_role, first))
    for query, values in (
        ("insert into gradecheck.head (job, laptop, number, hash) values (%s, 'x', 1, %s)", (yard.job, bytes(32))),
        ("insert into gradecheck.progress (job, entries, content) values (%s, 1, '')", (yard.job,)),
        ("insert into gradecheck.member (job, role) values (%s, session_user)", (yard.job,)),
    ):
        refused(NO_RIGHT, lambda q=query, v=values: yard.other.rows(q, v))  # type: ignore[misc]


def test_only_the_office_gives_out_jobs_and_plans_and_names_the_crew(yard: Yard) -> None:
    for query, values in (
        ("insert into gradecheck.job (job, name) values (%s, 'x')", (uuid4(),)),
        (
            "insert into gradecheck.plan (job, number, digest, content) values (%s, 9, repeat('0', 64), '')",
            (yard.job,),
        ),
        ("insert into gradecheck.member (job, role) values (%s, session_user)", (yard.job,)),
        ("delete from gradecheck.member where job = %s", (yard.job,)),
        ("select gradecheck.chain_check() where %s is not null", (yard.job,)),
    ):
        refused(NO_RIGHT, lambda q=query, v=values: yard.laptop.rows(q, v))  # type: ignore[misc]


def test_when_it_came_and_who_sent_it_only_the_server_says(yard: Yard) -> None:
    number, digest, content = line(4, 1, yard.last)[0]
    query = "insert into gradecheck.entry (job, chain, number, hash, content, got) values (%s, %s, %s, %s, %s, now())"
    refused(NO_RIGHT, lambda: yard.laptop.rows(query, (yard.job, yard.chain, number, digest, content)))
    query = "insert into gradecheck.head (job, role, laptop, number, hash) values (%s, %s, 'x', 1, %s)"
    refused(NO_RIGHT, lambda: yard.laptop.rows(query, (yard.job, yard.other_role, bytes(32))))


def test_another_laptops_progress_stays_as_it_is(yard: Yard) -> None:
    yard.laptop.rows(
        "insert into gradecheck.progress (job, entries, content) values (%s, 3, 'of north')", (yard.job,)
    )
    change = "update gradecheck.progress set entries = 0 where job = %s"
    assert yard.other.changed(change, (yard.job,)) == 0
    assert yard.laptop.changed(change, (yard.job,)) == 1


def test_tables_and_functions_of_ones_own_stand_in_for_nothing(yard: Yard) -> None:
    for each in ("entry", "chain", "member", "added"):
        yard.laptop.rows(f"create temp table {each} (job uuid, chain uuid, number bigint, hash bytea, role name)")
    yard.laptop.rows("create function pg_temp.sha256(bytea) returns bytea language sql as 'select ''x''::bytea'")
    yard.laptop.rows("set search_path = pg_temp, gradecheck, pg_catalog")
    yard.laptop.rows("insert into pg_temp.member values (%s, null, null, null, session_user)", (uuid4(),))
    refused(NOT_IN_CHAIN, lambda: yard.more((4, b"x", line(4, 1, yard.last)[0][2])))
    yard.more(*line(4, 1, yard.last))
    assert yard.count == 4
    yard.laptop.rows("discard all")


def test_control_without_its_triggers_the_server_would_take_it(yard: Yard) -> None:
    """What is refused above is refused by the rules, and by nothing else."""
    rows = line(9, 1, "ab" * 32)
    yard.office.rows("begin")
    for part in ("", *(f"_{number}" for number in range(16))):
        yard.office.rows(f"alter table gradecheck.entry{part} disable trigger user")
    add(yard.office, yard.job, yard.chain, *rows)
    assert yard.office.changed("delete from gradecheck.entry where job = %s", (yard.job,)) == 4
    yard.office.rows("rollback")
    refused(NO_RIGHT, lambda: add(yard.office, yard.job, yard.chain, *rows))


HOSTILE = (
    "'); drop schema gradecheck cascade; --", '"; drop role gradecheck_owner; --', "%s %(x)s {0}", "\\x00",
    "$$; select 1; $$", "x" * 900, "現場 ٣ ﬁ", "<script>alert(1)</script>", "[/][red]",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_names_with_sql_in_them_are_names(yard: Yard, name: str) -> None:
    job, role = uuid4(), name[:40]
    quoted = role.replace('"', '""')
    yard.office.rows("insert into gradecheck.job (job, name) values (%s, %s)", (job, name))
    yard.office.new_role(role, name, "gradecheck_laptop")
    try:
        yard.office.rows("insert into gradecheck.member (job, role) values (%s, %s)", (job, role))
        yard.office.rows(f'set session authorization "{quoted}"')
        rows = line(1, 2)
        refused(NO_RIGHT, lambda: add(yard.office, job, uuid4(), *rows))
        chain = begin(yard.office, job, role, rows[0])
        add(yard.office, job, chain, *rows)
        progress = "insert into gradecheck.progress (job, entries, content) values (%s, 2, %s)"
        yard.office.rows(progress, (job, name.encode()))
        seen = yard.office.rows("select name, role from gradecheck.job join gradecheck.chain using (job, role)", ())
        assert seen == []
        assert [each.name for each in jobs(yard.office)] == [name]
        yard.office.rows("reset session authorization")
        assert yard.office.rows("select role from gradecheck.chain where job = %s", (job,)) == [(role,)]
    finally:
        yard.office.rows("reset session authorization")
        yard.office.rows("delete from gradecheck.member where job = %s", (job,))
        yard.office.rows(f'drop role "{quoted}"')


@pytest.mark.parametrize("name", [*HOSTILE, "North", "9north", "north crew", "", "north;", "a" * 31, "nörth"])
def test_a_laptop_can_not_be_called_what_stands_badly_in_an_address(crews: Crews, capsys: Out, name: str) -> None:
    before = sorted(Path().iterdir())
    [why] = said(capsys, "office", "add", crews.office, "desk", f"--laptop={name}", code=2)
    assert "small letters, digits, - and _" in why
    assert sorted(Path().iterdir()) == before


def test_names_of_the_servers_own_are_no_laptops(crews: Crews, capsys: Out) -> None:
    for name in ("gradecheck_owner", "gradecheck_office", "pg_monitor", "office"):
        [why] = said(capsys, "office", "add", crews.office, "desk", "--laptop", name, code=2)
        assert why == f"The server has a name {name} that is no laptop's; choose another."


def test_a_server_that_is_new_to_it_is_left_alone(packaged: Here, yards: pytest.MonkeyPatch, capsys: Out) -> None:
    at = empty(packaged)
    [why] = said(capsys, "share", "south", f"{at}?passfile={packaged.passwords}", code=2)
    assert "there is no office on it; “gradecheck office init” makes one" in why
