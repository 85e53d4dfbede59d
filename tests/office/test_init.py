"""`gradecheck office init`: as often as one likes; a rule that was weakened is named, and whole again."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.office.address import Address
from gradecheck.office.connection import Link, RefusedError
from gradecheck.office.here import Here
from gradecheck.office.init import init
from gradecheck.office.jobs import add_job, is_new, jobs, let_work
from tests.office.conftest import empty, url


def test_an_office_is_made_once_and_a_second_time_nothing_is_different(
    bare: Address, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["office", "init", url(bare)]) == 0
    printed = capsys.readouterr()  # and nothing of who decides: nothing is judged
    assert (printed.out, printed.err) == (f"{bare}: the office is made, with its tables and rules.\n", "")
    for _ in range(2):
        assert main(["office", "init", url(bare)]) == 0
        assert capsys.readouterr().out == f"{bare}: the office is there, and its rules are as they should be.\n"


@pytest.mark.parametrize(
    ("weaken", "named"),
    [
        ("alter table gradecheck.entry_3 disable trigger chain_check", "trigger chain_check on entry_3"),
        ("alter table gradecheck.entry_4 enable trigger only_added", "trigger only_added on entry_4"),
        ("alter table gradecheck.entry enable replica trigger chain_check", "trigger chain_check on entry"),
        ("drop trigger row_only_added on gradecheck.plan", "trigger row_only_added on plan"),
        ("alter table gradecheck.entry disable row level security", "row security of entry"),
        ("alter table gradecheck.chain force row level security", "row security of chain"),
        ("create policy more on gradecheck.entry using (true)", "policy more on entry"),
        ("alter policy sent on gradecheck.chain with check (true)", "policy sent on chain"),
        ("grant update on gradecheck.entry to gradecheck_laptop", "rights of gradecheck_laptop on entry"),
        ("grant select on gradecheck.entry_5 to public", "rights of everybody on entry_5"),
        ("grant insert (got) on gradecheck.entry to gradecheck_laptop", "rights of gradecheck_laptop on entry.got"),
        ("alter table gradecheck.entry detach partition gradecheck.entry_7", "table entry_7"),
        ("create or replace function gradecheck.is_office() returns boolean language sql as 'select true'",
         "function is_office"),
        ("alter role gradecheck_owner login", "log-in of gradecheck_owner"),
    ],
)  # fmt: skip
def test_a_rule_that_was_weakened_is_named_and_mended(
    office: Address, capsys: pytest.CaptureFixture[str], weaken: str, named: str
) -> None:
    with Link(office) as link:
        link.rows(weaken)
    assert main(["office", "init", url(office)]) == 1
    text = capsys.readouterr().out.splitlines()
    assert f"  {named}" in text
    assert main(["office", "init", url(office)]) == 0


@pytest.mark.parametrize("which", ["packaged", "fifteen"])
def test_who_is_no_superuser_but_may_make_roles_can_make_an_office(
    request: pytest.FixtureRequest, which: str
) -> None:
    here: Here = request.getfixturevalue(which)
    at = empty(here)
    passwords = Path(at.named["passfile"])
    with Link(at) as link:
        for role in ("gradecheck_owner", "gradecheck_office", "gradecheck_laptop"):
            for (database,) in link.rows("select datname from pg_database where not datistemplate"):
                with Link(dataclasses.replace(at, database=database)) as other:
                    other.rows("drop schema if exists gradecheck cascade")
                    if other.rows("select to_regrole(%s) is not null", (role,))[0][0]:
                        other.rows(f"drop owned by {role}")
            link.rows(f"drop role if exists {role}")
        link.rows("drop role if exists chief")
        link.rows("create role chief login createrole password 'plumb-line'")
        link.rows(f"alter database {at.database} owner to chief")
    kept = passwords.read_text(encoding="ascii")
    passwords.write_text(f"*:*:*:chief:plumb-line\n*:*:*:plumb:plumb-line\n{kept}", encoding="ascii")
    try:
        with Link(dataclasses.replace(at, user="chief")) as link:
            assert init(link).new
            assert init(link).weakened == ()
            assert link.rows("select gradecheck.is_office()") == [(True,)]
            with pytest.raises(RefusedError):
                link.rows("delete from gradecheck.entry")
            job = add_job(link, "Wickering Yard")
            assert is_new(link, "plumb")
            link.new_role("plumb", "plumb-line", "gradecheck_laptop")
            let_work(link, job, ["plumb"])
            assert not is_new(link, "plumb")
            assert jobs(link) == [job]
        with Link(dataclasses.replace(at, user="plumb", named=at.named)) as link:
            assert jobs(link) == [job]
        with Link(at) as link:
            link.rows("drop schema gradecheck cascade")
            link.rows("drop role plumb")
            for role in ("gradecheck_owner", "gradecheck_office", "gradecheck_laptop", "chief"):
                link.rows(f"drop owned by {role}")
            for role in ("gradecheck_owner", "gradecheck_office", "gradecheck_laptop"):
                link.rows(f"drop role {role}")
    finally:
        passwords.write_text(kept, encoding="ascii")
