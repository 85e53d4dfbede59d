"""Verbs that test the levelling itself: `circuit` and `instrument`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.field_tests import verdict_of
from gradecheck.catalogue import _
from gradecheck.cli.options import OnJob, Recording, Reply, csv_option, flag, named, on_session, option
from gradecheck.cli.shared import length_json, length_text
from gradecheck.journal.facts import InstrumentTested
from gradecheck.measure.notation import Notation
from gradecheck.plan.closure import Allowance, allowance_from, allowed, closes
from gradecheck.plan.model import Plan
from gradecheck.report.circuits import adjustment_lines, closing_lines, misclosure
from gradecheck.session.session import Session
from gradecheck.state.state import State
from gradecheck.survey.circuit import Closing, SharedBy, closings, expected_of, network
from gradecheck.survey.instrument_tests import arc_seconds
from gradecheck.survey.network import RISK, Adjustment, adjust


@dataclass(frozen=True, kw_only=True, slots=True)
class CircuitOptions(OnJob):
    rule: str | None = option("--rule", metavar="TEXT", help=_("allowed misclosure, such as 0.02 ft per root setup"))
    share: str = option(
        "--share", choices=("setups", "distance"), default="setups", help=_("how a misclosure is shared out")
    )
    adjust: bool = flag("--adjust", _("adjust all readings together by least squares"))
    csv: bool = csv_option()


@on_session(CircuitOptions, by_code=True, apart=(("csv", "json"),))
def circuit(session: Session, options: CircuitOptions) -> Reply:
    """The circuits walked and whether they close; 1 when one does not, or the network fails its test."""
    try:
        return _circuit(session, options)
    except ValueError as wrong:
        # A rule or a share by distance, where a mark's place on the plan is not known.
        raise Refusal(str(wrong)) from wrong


def _circuit(session: Session, options: CircuitOptions) -> Reply:
    by, plan, state = SharedBy(options.share), session.plan, session.state
    rule = _rule(plan, options.rule)
    found = list(closings(state.book))
    adjusted = _adjusted(state, by) if options.adjust else None
    sound = all(closes(each.circuit, rule) for each in found)
    failed = adjusted is not None and adjusted.test is not None and not adjusted.test.passes
    circuits = [_json(each, rule, by, plan.notation) for each in found]
    answer: dict[str, object] = {"circuits": circuits}
    if adjusted is not None:
        answer["network"] = _network_json(adjusted, plan.notation)
    says, code = list(_lines(state, found, rule, by, adjusted)), 0 if sound and not failed else 1
    return Reply(answer, says, code=code, table=circuits)


def _lines(
    state: State, found: Sequence[Closing], rule: Allowance, by: SharedBy, adjusted: Adjustment | None
) -> Iterator[str]:
    if not found:
        yield _("No circuit closes yet: read a second benchmark from a later setup.")
    for each in found:
        yield from closing_lines(state, each, rule, by)
    if adjusted is not None:
        yield _("All readings adjusted together:")
        yield from adjustment_lines(adjusted, state.plan.notation)


def _rule(plan: Plan, text: str | None) -> Allowance:
    """The rule named, else the plan's, else what a recheck may be off."""
    return plan.allowance if text is None else allowance_from(text, plan.notation.units)


def _adjusted(state: State, by: SharedBy) -> Adjustment:
    known, legs = network(state.book)
    return adjust(known, legs, by, expected_of(state.carried))


def _json(closing: Closing, rule: Allowance, by: SharedBy, notation: Notation) -> dict[str, object]:
    circuit = closing.circuit
    texts = misclosure(circuit, rule, notation)
    return {
        "marks": closing.marks,
        "setups": circuit.setups,
        "misclosure": length_text(circuit.misclosure, texts.found),
        "allowed": length_text(allowed(circuit, rule), texts.limit),
        "closes": closes(circuit, rule),
        "page check": closing.page.passes if closing.page else None,
        "legs": [{"from": leg.start, "to": leg.end, "rise": length_json(leg.rise, notation)} for leg in circuit.legs],
        "corrections": {mark.mark: length_json(mark.correction, notation) for mark in circuit.distributed(by)},
    }


def _mm(deviation: float | None) -> float | None:
    return None if deviation is None else deviation * 1000


def _network_json(adjusted: Adjustment, notation: Notation) -> dict[str, object]:
    test = adjusted.test
    return {
        "marks": {mark.mark: length_json(mark.elevation.height, notation) for mark in adjusted.marks},
        "deviations mm": {mark.mark: _mm(mark.deviation) for mark in adjusted.marks},
        "residuals": {leg.leg.name: length_json(leg.residual, notation) for leg in adjusted.legs},
        "standardized residuals": {leg.leg.name: leg.standardised for leg in adjusted.legs},
        "redundancies": {leg.leg.name: leg.redundancy for leg in adjusted.legs},
        "scatter mm": _mm(adjusted.sigma0),
        "degrees of freedom": adjusted.dof,
        "chi-square": {"statistic": test.statistic, "limit": test.limit, "risk": RISK} if test else None,
        "passes": test.passes if test else None,
        "says": adjusted.says,
    }


@dataclass(frozen=True, kw_only=True, slots=True)
class InstrumentOptions(Recording):
    test: str = named("TEST", choices=("two-peg", "four-directions"))
    figures: Sequence[str] = named("FIGURE", nargs="+", type=str.strip)


@on_session(InstrumentOptions)
def instrument(session: Session, options: InstrumentOptions) -> Reply:
    """A field test of the laser; 1 when it should be adjusted."""
    entry = session.record(actions.instrument_test(session.state, options.test, options.figures))
    fact = entry.fact
    assert isinstance(fact, InstrumentTested)
    says = verdict_of(session.state, fact)
    error = {"ratio": float(fact.slope_error.ratio), "arc-seconds": arc_seconds(fact.slope_error)}
    answer = {"entry": entry.seq, "test": fact.test, "slope error": error, "within": fact.within, "says": says}
    return Reply(answer, [says], code=1 if fact.within is False else 0)
