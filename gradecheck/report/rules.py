"""Every rule by its name: what limits it, and who says so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gradecheck.catalogue import _
from gradecheck.measure.notation import Notation, Units
from gradecheck.plan.limits import ANYWHERE, CODES, IN_FORCE_ANYWHERE, RULES, Limits
from gradecheck.plan.model import Plan
from gradecheck.report.checks import number_text

NO_LIMIT = _("no limit")
"""Where no code named sets one and the plan neither."""


@dataclass(frozen=True, slots=True)
class RuleRow:
    """A rule as it is listed: what it limits it to, who says so, and where that holds: a code, a job or an area."""

    name: str
    limit: str
    source: str
    where: str


def all_rules() -> list[RuleRow]:
    """Every rule with every source that sets it, lengths in inches."""
    notation = Notation.usual(Units.IN)
    return [
        RuleRow(name, number_text(rule.kind, figure.value, notation), figure.source, code or IN_FORCE_ANYWHERE)
        for name, rule in RULES.items()
        for code, figure in rule.by.items()
    ]


def rules_of(plan: Plan) -> list[RuleRow]:
    """Every rule as the job has it, and behind them what an area with rules or codes of its own has otherwise."""
    job = plan.limits()
    rows = [_row(job, name, _("the job"), plan.notation) for name in RULES]
    for area in plan.areas.values():
        own = plan.limits(area)
        rows += [_row(own, name, area.name, plan.notation) for name in RULES if _said(own, name) != _said(job, name)]
    return rows


def _said(limits: Limits, name: str) -> object:
    limit = limits.get(name)
    return limit and (limit.value, limit.source)


def _row(limits: Limits, name: str, where: str, notation: Notation) -> RuleRow:
    limit = limits.get(name)
    if limit is None:
        codes = ", ".join(code for code in RULES[name].by if code != ANYWHERE)
        return RuleRow(name, NO_LIMIT, _("only {codes} sets one", codes=codes), where)
    return RuleRow(name, number_text(limit.kind, limit.value, notation), limit.source, where)


def rule_lines(rows: list[RuleRow], codes: tuple[str, ...] | None) -> list[str]:
    """The table as text; `codes` are those the job names, None where no job is asked about."""
    wide = [max(len(getattr(row, column)) for row in rows) for column in ("name", "limit", "where")]
    return [*_head(codes), "", *(_line(row, wide) for row in rows)]


def _head(codes: tuple[str, ...] | None) -> Iterator[str]:
    if codes is not None:
        named = ", ".join(codes) or _("none named")
        yield _("Codes: {named}. The strictest holds; a rule that the plan sets holds before all.", named=named)
        return
    yield _("A job is held to what holds for any job, and to the codes it names: “codes: [us-residential]”.")
    yield from (f"  {code}: {what}" for code, what in CODES.items())
    yield _("The strictest holds; a plan sets any of them itself, also for an area: “rules: {riser at most: 7 in}”.")


def _line(row: RuleRow, wide: list[int]) -> str:
    name, limit, where = wide
    return f"{row.name:<{name}}  {row.limit:<{limit}}  {row.where:<{where}}  {row.source}"
