"""What a measurement is, and how medians and ratios of it are taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Measure:
    """One ratio: `most` is what it may be now, `aim` what it shall be in the end; `note` gives plain figures."""

    number: int
    what: str
    ratio: float | None
    most: float | None
    aim: float | None
    note: str = ""


def paired(ours: Sequence[float], bare: Sequence[float]) -> float:
    """The median of the ratios of values that were taken side by side."""
    return median(one / other for one, other in zip(ours, bare, strict=True))


def percentile(values: Sequence[float], share: float) -> float:
    """The value that this share of all values does not exceed."""
    ordered = sorted(values)
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def milliseconds(seconds: Sequence[float]) -> str:
    """The median, to orient."""
    return f"{1000 * median(seconds):.1f} ms"


def table(measures: Sequence[Measure]) -> str:
    """All measurements as lines of text."""
    lines = [f"{'no.':>3}  {'what':<56} {'ratio':>7}   {'at most':>7} {'aim':>6}   to orient"]
    for each in measures:
        ratio = "-" if each.ratio is None else f"{each.ratio:.2f}"
        over = "!" if each.ratio is not None and each.most is not None and each.ratio > each.most else " "
        limits = f"{_limit(each.most):>7} {_limit(each.aim):>6}"
        lines.append(f"{each.number:>3}  {each.what:<56} {ratio:>7} {over} {limits}   {each.note}")
    return "\n".join(lines)


def _limit(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
