"""Findings on a plan in words: what was found, where, and the limit with who sets it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from gradecheck.catalogue import _, count, stored, translated
from gradecheck.findings.finding import Finding
from gradecheck.findings.layers import dig_findings
from gradecheck.findings.slips import ALIKE, EXAMPLE, LIKE_A_KEY, TOO_TIGHT, tolerance_slips, unresolved
from gradecheck.measure.judged import JudgedTexts, judged_length, judged_slope
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Area, Listing, Plan
from gradecheck.plan.targets import true_minus

if TYPE_CHECKING:
    from gradecheck.checks.not_checked import NotChecked

SENTENCES = {
    "fall": stored("{where}: falls {value}, needs {limit}; add pitch."),
    "fall near the building": stored("{where}: falls {value} near the building, needs {limit}; add pitch."),
    "toward the building": stored(
        "{where}: falls {value}, so it drains toward the building; it needs {limit} away from it."
    ),
    "running fall": stored(
        "{where}: runs at {value}, an accessible route at most at {limit}; make it a ramp or longer."
    ),
    "cross fall": stored(
        "{where}: falls {value} across, an accessible route at most {limit}; turn or lessen the fall."
    ),
    "direction of travel": (
        stored(
            "{where}: NOT CHECKED for running and cross slope; the plan does not say which way people walk. "
            "Give it “along: [A, B]”."
        )
    ),
    "too steep": stored("{where}: falls {value}, at most {limit}; lessen the fall."),
    "no way out": stored("{where}: walls on every side and no drain, so water has no way out; plan a drain."),
    "ponding": stored("{where}: water stands {value} deep, at most {limit}; raise the low spots or drain them."),
    "riser": stored("{where}: the riser is {value}, the limit is {limit}; change their number."),
    "neighbor risers": stored("{where}: neighboring risers differ by {value}, at most {limit} is advised."),
    "largest less smallest riser": stored("{where}: risers vary by {value}, at most {limit}; make them alike."),
    "tread": stored("{where}: the tread is {value}, at least {limit}; make it deeper."),
    "tread fall": stored("{where}: the tread falls {value}, at most {limit}; lessen its fall."),
    "deepest less narrowest tread": stored("{where}: treads vary by {value}, at most {limit}; make them alike."),
    "landing": stored("{where}: the landing is {value} long, at least {limit}; lengthen it."),
    "landing fall": stored("{where}: the landing falls {value}, at most {limit}; lessen its fall."),
    "level change": stored("{where}: steps by {value}, an accessible route at most by {limit}; make it a ramp."),
    "total rise": stored("{where}: the flight rises {value}, at most {limit}; put a landing between."),
    "drop": stored("{where}: the drop is {value}, more than {limit}; a guard may be required; check the local code."),
    "drop beside an edge": (
        stored("{where}: the drop is {value}, more than {limit}; a guard may be required; check the local code.")
    ),
    "risers in a flight": stored(
        "{where}: {value} risers, from {limit} a handrail may be required; check the local code."
    ),
    "ramp": stored("{where}: the ramp runs at {value}, at most {limit}; make the run longer."),
    "rise of a ramp's run": stored("{where}: the run rises {value}, at most {limit}; put a landing between."),
    "ramp landing": stored("{where}: the landing is {value} long, at least {limit}; lengthen it."),
    "ramp width": stored("{where}: the ramp is {value} wide, at least {limit}; make it wider."),
    "steps width": stored("{where}: the steps are {value} wide, at least {limit}; make them wider."),
    "fall of a ramp's landing": stored("{where}: the landing falls {value}, at most {limit}; lessen its fall."),
    "base thickness": stored("{where}: the base is {value}, at least {limit} for this use; make it thicker."),
    "bedding thickness": stored("{where}: the bedding is {value}, the limit is {limit}; bring it within."),
    "dig past the edge": stored("{where}: the dig goes {value} past the edge, it needs {limit}; set “past edge:”."),
    "depth of the dig": stored(
        "{where}: the dig is {value} below existing ground; from {limit} protection is required."
    ),
    "way out of the dig": stored(
        "{where}: the dig is {value} below existing ground; from {limit} a way out is required."
    ),
    "depth of the dig from the finish": (
        stored(
            "{where}: the dig is {value} below the finish (existing ground is not in the plan: “ground:”); "
            "from {limit} deep a protective system is required."
        )
    ),
    "way out of the dig from the finish": (
        stored(
            "{where}: the dig is {value} below the finish (existing ground is not in the plan: “ground:”); "
            "from {limit} deep a ladder or ramp is required."
        )
    ),
    "tighter than above": stored(
        "{where}: the lower surface has a tolerance of {value}, the one above {limit}; intended?"
    ),
    "two routes": stored("{where}: the second route comes out {value} off; fix one."),
    "off the surface": stored("{where}: its own sum and the surface differ by {value}; fix one."),
    "drawn twice": stored("{where}: two points at one place and height; remove one."),
    "outside the outline": stored("{where}: is outside the area's outline; move it, or the outline."),
    "two pitches": stored("{where}: falls {value} where the job's pitch is {limit}; keep one rule for one fall."),
    "rule of thumb": stored(
        "{where}: over that run the job's pitch makes {value}, the exact one {limit}; the most here."
    ),
    "rounding": stored("{where}: rounding targets to {limit} moves it by {value}, the most here."),
    "drain above": stored("{where}: the drain is {value} above what it should drain; lower it."),
    "above the drain": stored("{where}: the surface is {value} above the drain, the limit is {limit}."),
    "tolerance": stored("{where}: the tolerance is {value}, more than {limit}; intended?"),
    "tolerance against the layer": stored("{where}: the tolerance is {value}, the layer is {limit} thick; intended?"),
    "top layer": stored("{where}: what lies on top is {value} thick, the usual limit is {limit}; intended?"),
    "small area": stored("{where}: it is {value} across, less than {limit}; intended?"),
    "large site": stored("{where}: with its benchmarks and walls it is {value} across, more than {limit}; intended?"),
    "far in height": stored("{where}: {value} above or below the nearest benchmark, more than {limit}; intended?"),
    "alone in height": stored("{where}: {value} above or below anything else here, more than {limit}; intended?"),
    "drop between points": stored("{where}: {value} apart in height, more than {limit}; intended?"),
    "steep pitch": stored("{where}: slopes {value}, more than {limit}; intended?"),
    "degrees": stored("{where}: these coordinates could be degrees; if they are lengths, write “units:” for it."),
    ALIKE: stored("{where}: these names are hard to tell apart on a stake; rename one."),
    LIKE_A_KEY: stored("{where}: named like the keys F1 to F12; use another name, such as P1."),
    EXAMPLE: stored("this number is an example (<--); write your own and take the <-- out."),
    TOO_TIGHT: (
        stored(
            "{where}: {value} of tolerance is tighter than this laser can check ({limit} is not); "
            "shorten the shots or read a finer rod."
        )
    ),
}
"""What is said of each check."""


def before_work(plan: Plan) -> list[str]:
    """What must be known before the first reading: what can't be judged by this plan, and how deep the dig is."""
    found = [*tolerance_slips(plan), *unresolved(plan), *dig_findings(plan)]
    return [finding_line(plan, finding) for finding in found]


def listing_line(plan: Plan, listing: Listing) -> str:
    """``walk.csv: 27 points in garden walk, x 0 to 24 ft, y 1 to 61 ft, elevation -3 to -1/4 in``."""
    what = (
        count(listing.count, "point")
        if listing.kind == "points"
        else _("outline of {count} corners", count=listing.count)
    )
    parts = [_("{file}: {what} in {area}", file=listing.file, what=what, area=listing.area)]
    for name, reach in zip(("x", "y"), zip(*listing.places, strict=True) if listing.places else (), strict=False):
        parts.append(f"{name} {_from_to(*reach, plan.notation)}")
    if listing.heights is not None:
        low, high = listing.heights
        parts.append(_("elevation {from_to}", from_to=_from_to(low.height, high.height, plan.notation)))
    return ", ".join(parts)


def listing_json(plan: Plan, listing: Listing) -> dict[str, object]:
    """The same for other programs."""
    low, high = listing.places or (None, None)
    return {
        "area": listing.area,
        "file": listing.file,
        "kind": listing.kind,
        "count": listing.count,
        "x": _lengths(plan, low[0], high[0]) if low and high else None,
        "y": _lengths(plan, low[1], high[1]) if low and high else None,
        "elevation": _lengths(plan, *(each.height for each in listing.heights)) if listing.heights else None,
        "says": listing_line(plan, listing),
    }


def _lengths(plan: Plan, *lengths: Length) -> list[dict[str, object]]:
    return [{"mm": each.mm, "text": show_exact(each, plan.notation.units, unit=True)} for each in lengths]


def _from_to(low: Length, high: Length, notation: Notation) -> str:
    if low == high:
        return true_minus(show_exact(low, notation.units, unit=True))
    return true_minus(
        _("{low} to {high}", low=show_exact(low, notation.units), high=show_exact(high, notation.units, unit=True))
    )


def finding_line(plan: Plan, finding: Finding) -> str:
    """``line 24: fault: terrace, P1 to P5: falls 1.5%, ... (IRC R401.3)``."""
    place = _("line {line}: ", line=finding.line) if finding.line else ""
    source = "" if finding.limit.source == "the plan itself" else f" ({finding.limit.source})"
    more = _(" And {more} more like it.", more=finding.more) if finding.more else ""
    return f"{place}{translated(finding.severity.value)}: {finding.area}, {_says(plan, finding)}{source}{more}"


def not_checked(plan: Plan) -> Iterator[tuple[Area, NotChecked]]:
    """What no code that the plan names limits, area by area."""
    # The day's cautions load this file before the first picture; the checks are for whoever looks through a plan.
    from gradecheck.checks.not_checked import not_limited

    for area in plan.areas.values():
        for each in not_limited(plan, area):
            yield area, each


def not_checked_lines(plan: Plan) -> list[str]:
    """``line 24: NOT CHECKED: steps: no code is named for risers; name ...``; areas that lack the same together."""
    alike: dict[tuple[str, str], list[Area]] = {}
    for area, each in not_checked(plan):
        alike.setdefault((each.why, each.how), []).append(area)
    return [
        _(
            "line {line}: NOT CHECKED: {areas}: {why}; {how}.",
            line=areas[0].line,
            areas=", ".join(area.name for area in areas),
            why=why,
            how=how,
        )
        for (why, how), areas in alike.items()
    ]


def finding_json(plan: Plan, finding: Finding) -> dict[str, object]:
    """A finding for other programs: what was found and its limit as lengths, slopes or counts."""
    texts = _texts(finding, plan.notation)
    return {
        "severity": finding.severity.value,
        "line": finding.line,
        "area": finding.area,
        "what": finding.what,
        "where": list(finding.where),
        "more": finding.more,
        "value": _quantity(finding.limit.kind, finding.value, texts.found),
        "limit": _quantity(finding.limit.kind, finding.limit.value, texts.limit),
        "kind": finding.limit.kind,
        "rule": finding.limit.name,
        "source": finding.limit.source,
        "says": _says(plan, finding),
    }


def _quantity(kind: str, value: Fraction, text: str) -> dict[str, object]:
    """A length as everywhere; a slope as its ratio, a count as it is."""
    name, part = {"slope": ("ratio", value), "count": ("count", value)}.get(kind, ("mm", value * 1000))
    return {name: int(part) if kind == "count" else float(part), "text": text.replace("\N{MINUS SIGN}", "-")}


def _says(plan: Plan, finding: Finding) -> str:
    texts = _texts(finding, plan.notation)
    return translated(SENTENCES[finding.what]).format(where=_where(finding), value=texts.found, limit=texts.limit)


_NOT_FROM_ONE_TO_THE_OTHER = {
    "drop beside an edge",
    "tolerance against the layer",
    "top layer",
    "far in height",
    "base thickness",
    "bedding thickness",
    "drawn twice",
    ALIKE,
    LIKE_A_KEY,
    "tighter than above",
}
"""Checks whose two names are no way from one point to another."""


def _where(finding: Finding) -> str:
    names = finding.where
    if len(names) > 4:
        return f"{names[0]}, {names[1]} … {names[-1]}"
    if len(names) == 2 and finding.what not in _NOT_FROM_ONE_TO_THE_OTHER:
        return _(" to ").join(names)
    return ", ".join(names)


def _texts(finding: Finding, notation: Notation) -> JudgedTexts:
    """What was found and its limit: a slope in percent and by its run, a length in the job's unit, a count."""
    value, limit = finding.value, finding.limit
    if limit.kind == "slope":
        return judged_slope(value, limit.value, passes=False)
    if limit.kind == "count":
        return JudgedTexts(f"{int(value)}", f"{limit.count}")
    texts = judged_length(Length(value), limit.length, notation, passes=False)
    return JudgedTexts(true_minus(texts.found), true_minus(texts.limit))
