"""Every finding on a plan, in the order of the job file's lines."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

from gradecheck.findings.drainage import drainage_findings
from gradecheck.findings.finding import Finding
from gradecheck.findings.layers import layer_findings
from gradecheck.findings.sense import sense_findings
from gradecheck.findings.slips import example_findings, key_findings, name_findings, slip_findings, unresolved
from gradecheck.findings.steps import guard_findings, step_findings
from gradecheck.plan.model import Plan


def findings(plan: Plan) -> list[Finding]:
    """All of them; of those alike on one line only the worst, with how many more there are."""
    found = chain(
        slip_findings(plan),
        example_findings(plan),
        unresolved(plan),
        layer_findings(plan),
        step_findings(plan),
        guard_findings(plan),
        sense_findings(plan),
        name_findings(plan),
        key_findings(plan),
        drainage_findings(plan),
    )
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for each in dict.fromkeys(found):
        alike.setdefault((each.area, each.what, each.line, each.limit, each.severity), []).append(each)
    worst = (replace(max(group, key=lambda each: each.beyond), more=len(group) - 1) for group in alike.values())
    return sorted(worst, key=lambda finding: finding.sort_key)
