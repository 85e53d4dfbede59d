"""The command `rules`: every rule by its name, its limit and its source."""

from __future__ import annotations

import argparse
from dataclasses import asdict

from gradecheck.commands.on_site import plan_on_site
from gradecheck.commands.shared import print_json, printable
from gradecheck.report.decides import DECIDES
from gradecheck.report.rules import all_rules, rule_lines, rules_of


def rules(options: argparse.Namespace) -> int:
    """What every source limits or, with a job, what that job and its areas are held to."""
    plan = plan_on_site(options.job).plan if options.job is not None else None
    rows = all_rules() if plan is None else rules_of(plan)
    codes = None if plan is None else plan.codes
    if options.json:
        print_json(options, {"codes": codes, "rules": [asdict(row) for row in rows]})
    else:
        print(printable("\n".join([*rule_lines(rows, codes), "", DECIDES])))
    return 0
