"""Offices made on the server itself: many jobs with their rows, and as many entries as one likes."""

from __future__ import annotations

from dataclasses import replace

from gradecheck.office.address import Address
from gradecheck.office.connection import Link
from gradecheck.office.init import init
from gradecheck.sharing.progress import as_text
from gradecheck.state.progress import StageProgress, Stamp
from tests.report.test_board import row

JOBS = 1_000
STAGES = 12
AT_ONCE = 200
"""Entries of each job that one step on the server makes; a step has a minute."""


def fill(at: Address, jobs: int, entries: int) -> None:
    """So many jobs with a row each of twelve stages, and so many entries of no meaning shared out among them."""
    last = Stamp("2026-05-14T15:42:00.000+00:00", -300, "JR", "north crew")
    stages = tuple(StageProgress(f"area {n // 4}", f"stage {n % 4}", 40, 20, 5, 5, 10, *last) for n in range(STAGES))
    with Link(at) as link:
        init(link)
        link.rows("insert into gradecheck.job (name) select 'Row ' || n from generate_series(1, %s::int) n", (jobs,))
        content = as_text(replace(row(), stages=stages)).encode()
        link.rows(
            "insert into gradecheck.progress (job, entries, content) "
            "select job, 70, %s from gradecheck.job where name like 'Row %%'",
            (content,),
        )
        link.rows("alter table gradecheck.entry disable trigger all")
        for part in range(16):
            link.rows(f"alter table gradecheck.entry_{part} disable trigger all")
        each = entries // jobs
        for begun in range(0, each, AT_ONCE):
            link.rows(
                "insert into gradecheck.entry (job, chain, number, hash, content) "
                "select job, job, n, sha256((job::text || n)::bytea), decode(repeat('61', 630), 'hex') "
                "from gradecheck.job, generate_series(%s::int, %s::int) n",
                (begun + 1, min(begun + AT_ONCE, each)),
            )
        link.rows("analyze gradecheck.progress")
