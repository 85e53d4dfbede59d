"""Circuits and the adjusted network in words; apart from the instrument's, which the first picture loads."""

from __future__ import annotations

from gradecheck.catalogue import _, count
from gradecheck.measure.judged import JudgedTexts, judged_length
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show_exact
from gradecheck.plan.closure import Allowance, allowed, closes
from gradecheck.state.state import State
from gradecheck.survey.circuit import Circuit, Closing, SharedBy
from gradecheck.survey.network import Adjustment


def closing_lines(state: State, closing: Closing, rule: Allowance, by: SharedBy) -> list[str]:
    """One circuit: its way, what it misses by, whether that is allowed, the page check apart, the corrections."""
    units = state.plan.notation.units
    circuit = closing.circuit
    texts = misclosure(circuit, rule, state.plan.notation)
    verdict = _("it closes") if closes(circuit, rule) else _("IT DOES NOT CLOSE")
    setups = count(circuit.setups, "setup")
    lines = [
        _(
            "{marks}: {setups}, misclosure {found}, allowed {limit}: {verdict}.",
            marks=" - ".join(closing.marks),
            setups=setups,
            found=texts.found,
            limit=texts.limit,
            verdict=verdict,
        )
    ]
    if closing.page is not None:
        lines.append(
            _("  page check: {passes}", passes=_("the sums agree") if closing.page.passes else _("THE SUMS DISAGREE"))
        )
    shared = circuit.distributed(by)
    if circuit.misclosure and len(shared) > 1:
        each = ", ".join(f"{mark.mark} {show_exact(mark.correction, units)}" for mark in shared)
        lines.append(_("  shared out by {by}: {shares}", by=by, shares=each))
    return lines


def misclosure(circuit: Circuit, rule: Allowance, notation: Notation) -> JudgedTexts:
    """What a circuit misses by, beside what the rule allows it."""
    return judged_length(circuit.misclosure, allowed(circuit, rule), notation, passes=closes(circuit, rule))


def adjustment_lines(adjusted: Adjustment, notation: Notation) -> list[str]:
    """The adjusted network: each mark with its standard deviation, each sight with its residual, the test."""
    units = notation.units
    lines = []
    for mark in adjusted.marks:
        sure = f" ± {mark.deviation * 1000:.2f} mm" if mark.deviation is not None else ""
        lines.append(f"  {mark.mark}: {show_exact(mark.elevation.height, units, unit=True)}{sure}")
    for leg in adjusted.legs:
        lines.append(
            _(
                "  {name}: residual {length}",
                name=leg.leg.name,
                length=show_exact(leg.residual, units, unit=True),
            )
        )
    return [*lines, f"  {adjusted.says}"]
