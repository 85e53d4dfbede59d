"""Small plans with one thing doubtful about them, and what is found."""

from __future__ import annotations

from textwrap import indent

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Finding
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from tests.plan.sample import HERE, marked

HEAD = """\
job: Gorse Hill
units: {units}
codes: [{codes}]
benchmarks: {{DOOR: {{elevation: 0, at: [0, 0]}}}}
tolerances: {{finish: 1/8 in}}
"""


def job_with(yard: str, *, top: str = "", units: str = "in", codes: str = "us-residential") -> str:
    """An invented job with one area `yard` of those entries; the job's line a finding must have may be marked."""
    return HEAD.format(units=units, codes=codes) + top + f"areas:\n  yard:\n{indent(yard.strip(chr(10)), '    ')}\n"


def plan_of(yard: str, *, top: str = "", units: str = "in", codes: str = "us-residential") -> Plan:
    """The plan of such a job, its mark taken out."""
    return read_plan(job_with(yard, top=top, units=units, codes=codes).replace(HERE, ""), "job.yaml")


def marked_line(yard: str, *, top: str = "") -> int:
    """The line of the job on which the mark stands; that of the area where none does."""
    text, places = marked(job_with(yard, top=top))
    if not places:
        return text.splitlines().index("  yard:") + 1
    ((line, _),) = places
    return line


def found(plan: Plan, what: str, rule: str | None = None) -> list[Finding]:
    """The findings of that check, held to that rule where one is named."""
    return [each for each in findings(plan) if each.what == what and rule in (None, each.limit.name)]
