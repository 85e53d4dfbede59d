"""Prints a figure beside the limit it was held to, so that the two texts never contradict the verdict.

One that fails never reads as its limit nor as the better side of it; one that passes never as the worse side. A
figure with the other sign than its limit is held to it by its size too, as a fall across a walk is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import floor, log10

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import exactly, nearest, show, show_exact
from gradecheck.measure.quantities import Length, millimetres

TENTH = millimetres(Fraction(1, 10))
"""How fine a metric length is printed that was worked out between readings."""
SIXTY_FOURTH = Units.IN.one * Fraction(1, 64)
_HUNDREDTH = Length(Fraction(1, 100))
SLACK = Fraction(1, 10**8)
"""What a slope may be off and still be at its limit: lengths across the plan are rounded to a nanometre."""
_MOST = 6
"""How many places more than usual may be shown; where those do not do, the last one is moved by one."""

Rounded = Callable[[Fraction, int], Fraction]
"""A number as it is printed with so many places more than usual."""


@dataclass(frozen=True, slots=True)
class JudgedTexts:
    """What was found and what is allowed, as they are printed beside each other."""

    found: str
    limit: str


def judged_reading(
    found: Length,
    limit: Length,
    notation: Notation,
    *,
    unit: bool = True,
    plus: bool = False,
    worked_out: bool = False,
) -> JudgedTexts:
    """A length at a mark of the rod, beside a limit that its size may not exceed, which no mark rounds.

    A limit that nobody wrote but was `worked_out` is told to 1/64 in where the job has fractions.
    """
    figure, passes, units = at_a_mark(found, limit, notation), abs(found) <= abs(limit), notation.units
    on_a_tape = worked_out and units in (Units.IN, Units.FT_IN)
    handy = nearest(limit, SIXTY_FOURTH) if on_a_tape else _handy(limit, units)
    most = handy if (abs(figure) <= abs(handy)) is passes else limit
    return JudgedTexts(show(figure, notation, unit=unit, plus=plus), show_exact(most, notation.units, unit=unit))


def at_a_mark(found: Length, limit: Length, notation: Notation) -> Length:
    """The mark of the rod nearest to the length, of those on its side of a limit that its size may not exceed.

    1/32 over a limit of 3/8 shows as 7/16, not as the 3/8 that would be allowed.
    """
    step = notation.graduation
    marks, most = nearest(abs(found), step).metres / step.metres, exactly(abs(limit), notation.units)
    last = Fraction(floor(most.metres / step.metres))
    marks = min(marks, last) if abs(found) <= abs(limit) else max(marks, last + 1)
    return step * (marks if found.metres >= 0 else -marks)


def reads_right(found: Length, held: Iterable[tuple[Length, bool]], notation: Notation) -> bool:
    """Whether the nearest mark tells how the length came out against each limit, given with whether it passes."""
    figure, units = nearest(found, notation.graduation).metres, notation.units
    return all(
        _tells(figure, exactly(limit, units).metres, found.metres, limit.metres, passes) for limit, passes in held
    )


def limit_text(limit: Length, units: Units) -> str:
    """A limit alone, as people of that unit read it off a tape: see `_handy`."""
    return show_exact(_handy(limit, units), units, unit=True)


def _handy(limit: Length, units: Units) -> Length:
    """A limit of the other system, 3/8 in or 2 mm, to a tenth of a millimetre or 1/64 in; any other as it is."""
    if units is Units.FT:
        return limit
    step, finest = (Units.IN.one * Fraction(1, 100), SIXTY_FOURTH) if units.imperial else (TENTH, TENTH)
    own = any((limit.metres / each.metres).denominator == 1 for each in (step, finest))
    return limit if own else nearest(limit, finest)


def judged_length(
    found: Length, limit: Length, notation: Notation, *, passes: bool, worked_out: bool = False
) -> JudgedTexts:
    """Lengths as `show_exact` writes them, the limit as `limit_text` does where that tells the verdict.

    What was `worked_out` between readings is told to a tenth of a millimetre, or to a mark of the tape in inches.
    """
    units = notation.units
    fine = [notation.graduation, SIXTY_FOURTH] if units.imperial else [TENTH]
    figures = [nearest(found, step) for step in fine] if worked_out and units is not Units.FT else []
    for figure in (*figures, exactly(found, units)):
        for at in (exactly(_handy(limit, units), units), exactly(limit, units)):
            if _tells(figure.metres, at.metres, found.metres, limit.metres, passes):
                return JudgedTexts(show_exact(figure, units, unit=True), show_exact(at, units, unit=True))
    beyond, _ = _beside(
        found.metres,
        limit.metres,
        lambda metres, _: exactly(Length(metres), units).metres,
        lambda _: exactly(limit, units).metres,
        units.one.metres / 10_000,
        passes,
        0,
    )
    at = exactly(limit, units)
    if not _tells(beyond, at.metres, found.metres, limit.metres, passes):
        # Beside a limit too small to print no figure can be moved without passing it: the limit is moved instead.
        step = units.one * Fraction(1 if limit > found else -1, 10_000)
        beyond, at = exactly(found, units).metres, Length(at.metres + step.metres)
    return JudgedTexts(show_exact(Length(beyond), units, unit=True), show_exact(at, units, unit=True))


def judged_slope(found: Fraction, limit: Fraction, *, passes: bool) -> JudgedTexts:
    """Two ratios as ``1.996% (1:50.1)`` beside ``2.00% (1:50)``: as many places as it takes to tell them apart.

    One that passes, though beyond its limit by no more than `SLACK`, is printed as at the limit.
    """
    if passes and abs(abs(found) - abs(limit)) <= SLACK:
        found = limit if abs(found - limit) <= SLACK else -limit
    percents = judged_number(found * 100, limit * 100, passes=passes)
    texts = [f"{percents.found}%", f"{percents.limit}%"]
    if not found or not limit:
        return JudgedTexts(*(text + _run_text(each) for text, each in zip(texts, (found, limit), strict=True)))
    # The run for a rise of one says the same the other way round, and must do so too.
    run, most = abs(1 / found), abs(1 / limit)
    runs = _pair(run, most, _run, passes or run == most, _grain(most, _MOST))
    return JudgedTexts(*(f"{text} (1:{_plain(value)})" for text, (value, _) in zip(texts, runs, strict=True)))


def slope_text(ratio: Fraction) -> str:
    """``1.56% (1:64)`` of the ratio 1/64: a slope that is held to nothing, or a limit alone."""
    return f"{_decimals(nearest(Length(ratio * 100), _HUNDREDTH).metres, 2)}%{_run_text(ratio)}"


def judged_number(found: Fraction, limit: Fraction, *, passes: bool, places: int = 2) -> JudgedTexts:
    """Decimals, of degrees for example: with more than so many places where it takes them to tell the two apart."""

    def rounded(number: Fraction, more: int) -> Fraction:
        return nearest(Length(number), Length(Fraction(1, 10 ** (places + more)))).metres

    pair = _pair(found, limit, rounded, passes, Fraction(1, 10 ** (places + _MOST)))
    return JudgedTexts(*(_decimals(value, places + more) for value, more in pair))


# How two numbers are told apart -------------------------------------------------------------------------------


def _pair(
    found: Fraction, limit: Fraction, rounded: Rounded, passes: bool, step: Fraction
) -> tuple[tuple[Fraction, int], tuple[Fraction, int]]:
    """Both as printed, each with the places more than usual; the limit has none where it needs none."""
    figure, more = _beside(found, limit, rounded, lambda more: rounded(limit, more), step, passes, _MOST)
    places = 0 if rounded(limit, 0) == limit else more
    return (figure, more), (rounded(limit, places), places)


def _beside(
    found: Fraction,
    limit: Fraction,
    rounded: Rounded,
    at: Callable[[int], Fraction],
    step: Fraction,
    passes: bool,
    most: int,
) -> tuple[Fraction, int]:
    """The figure as printed, and with how many places more than usual: the fewest that tell the verdict.

    `at` is the limit as printed with so many. Where the most do not do, the figure is the limit if it passes, else
    a `step` beyond it.
    """
    for more in range(most + 1):
        figure = rounded(found, more)
        if _tells(figure, at(more), found, limit, passes):
            return figure, more
    if found * limit < 0:
        size, _ = _beside(-found, limit, rounded, at, step, passes, most)
        return -size, most
    beyond = 0 if passes else 1 if found > limit else -1
    return at(most) + beyond * step, most


def _tells(figure: Fraction, at: Fraction, found: Fraction, limit: Fraction, passes: bool) -> bool:
    """Whether the figure lies beside the limit as printed as what was found does beside the limit, also by size."""
    for sides in ((figure - at, found - limit), (abs(figure) - abs(at), abs(found) - abs(limit))):
        printed, true = sides
        if printed * true < 0 or (not passes and bool(printed) != bool(true)):
            return False
    return True


def _run(run: Fraction, more: int) -> Fraction:
    """Three figures, and as many more; from a hundred on no fewer than the whole number has."""
    return nearest(Length(run), Length(_grain(run, more))).metres


def _grain(run: Fraction, more: int) -> Fraction:
    return Fraction(1, 10) ** (max(0, 2 - _tens(run)) + more)


def _tens(number: Fraction) -> int:
    """How many places stand before the point, less one."""
    tens = floor(log10(number.numerator) - log10(number.denominator))
    while number >= Fraction(10) ** (tens + 1):
        tens += 1
    while number < Fraction(10) ** tens:
        tens -= 1
    return tens


def _run_text(ratio: Fraction) -> str:
    return f" (1:{_plain(_run(abs(1 / ratio), 0))})" if ratio else ""


def _decimals(number: Fraction, places: int) -> str:
    scaled = abs(number) * 10**places
    digits = f"{int(scaled):0{places + 1}d}"
    return f"{'-' if number < 0 else ''}{digits[:-places]}.{digits[-places:]}"


def _plain(number: Fraction) -> str:
    """A number of few decimals, without zeros at its end."""
    text = _decimals(number, 2 + _MOST + 3)
    return text.rstrip("0").rstrip(".")
