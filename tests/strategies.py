"""How to draw lengths, notations, slopes, readings as text and whole job files, for the property tests."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from hypothesis import settings
from hypothesis import strategies as st

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Elevation, Length, feet, inches, millimetres
from gradecheck.measure.typed import Tolerance

# Everything in millimetres here, so that no constant is taken from the code under test.
IN_MM = Fraction(254, 10)
UNIT_MM = {
    Units.IN: IN_MM,
    Units.FT_IN: IN_MM,
    Units.FT: 12 * IN_MM,
    Units.MM: Fraction(1),
    Units.CM: Fraction(10),
    Units.M: Fraction(1000),
}
"""What a bare number counts, in millimetres."""

_INCH_MARKS = tuple(inches(Fraction(1, parts)) for parts in (1, 2, 4, 8, 10, 16, 32, 64, 100))
_FOOT_MARKS = tuple(feet(Fraction(1, parts)) for parts in (10, 20, 50, 100, 200, 500, 1000))
_METRIC_MARKS = tuple(millimetres(Fraction(size, 10)) for size in (1, 5, 10, 20, 50, 100))
GRADUATIONS = {
    Units.IN: _INCH_MARKS,
    Units.FT_IN: _INCH_MARKS,
    Units.FT: _FOOT_MARKS,
    Units.MM: _METRIC_MARKS,
    Units.CM: _METRIC_MARKS,
    Units.M: _METRIC_MARKS,
}
"""The marks that rods have whose figures are in these units."""

SMALL_STEPS = {
    "1/64 in": inches(Fraction(1, 64)),
    "0.001 ft": feet(Fraction(1, 1000)),
    "0.1 mm": millimetres(Fraction(1, 10)),
}
"""Finer than any rod on a site is read."""


def examples(most: int, few: int = 25) -> settings:
    """Settings for a property that needs so many examples in the long profile; the short one keeps its own number.

    Where each example is a whole day of work, `few` are drawn in the short one.
    """
    short = settings.get_profile("short").max_examples
    return settings(max_examples=min(most, short, few) if settings.default.max_examples == short else most)


def mm(length: Length) -> Fraction:
    """The length in millimetres, exact."""
    return length.metres * 1000


def of_mm(number: Fraction | int) -> Length:
    """The length of so many millimetres."""
    return Length(Fraction(number) / 1000)


units = st.sampled_from(list(Units))


@st.composite
def notations(draw: st.DrawFn) -> Notation:
    """A rod's way of writing lengths: any units, with any marks that rods in those units have."""
    chosen = draw(units)
    return Notation(chosen, draw(st.sampled_from(GRADUATIONS[chosen])))


def _fractions(size: int, denominator: int) -> st.SearchStrategy[Fraction]:
    return st.fractions(-size, size, max_denominator=denominator)


lengths = _fractions(90, 10**6).map(Length)
"""Any length a site has, on a mark or not, in both directions."""
elevations = _fractions(4000, 10**6).map(Elevation)
ratios = _fractions(1, 4000)


def counts(limit: int = 50_000) -> st.SearchStrategy[int]:
    """Whole numbers of marks, in both directions."""
    return st.integers(-limit, limit)


@st.composite
def tolerances(draw: st.DrawFn) -> Tolerance:
    """Up to 40 mm each way, on marks or not; nothing at all is allowed too."""
    margin = st.one_of(
        st.integers(0, 100).map(lambda count: inches(Fraction(count, 64))),
        st.fractions(0, Fraction(40, 1000), max_denominator=10**5).map(Length),
    )
    return Tolerance(draw(margin), draw(margin))


@dataclass(frozen=True)
class Typed:
    """A text as a person might key it, and how many millimetres it means."""

    text: str
    mm: Fraction


@st.composite
def _decimals(draw: st.DrawFn) -> tuple[str, Fraction]:
    whole, places = draw(st.integers(0, 99_999)), draw(st.integers(0, 4))
    part = draw(st.integers(0, 10**places - 1)) if places else 0
    # Three places behind a comma may be thousands, so they are typed with a point alone.
    point = "." if places == 3 else draw(st.sampled_from(".,"))
    text = f"{whole}{point}{part:0{places}d}" if places else str(whole)
    if whole == 0 and places and draw(st.booleans()):
        text = text[1:]
    return text, whole + Fraction(part, 10**places)


_SINGLE_CHARACTERS = {
    Fraction(1, 2): "½",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 8): "⅛",
    Fraction(3, 8): "⅜",
    Fraction(5, 8): "⅝",
    Fraction(7, 8): "⅞",
}


@st.composite
def _mixed(draw: st.DrawFn, most: int = 9_999) -> tuple[str, Fraction]:
    parts = draw(st.sampled_from((2, 4, 8, 16, 32, 64)))
    fraction = Fraction(draw(st.integers(1, parts - 1)), parts)
    spelled = f"{fraction.numerator * (parts // fraction.denominator)}/{parts}"
    whole = draw(st.one_of(st.none(), st.integers(0, most)))
    if fraction in _SINGLE_CHARACTERS and draw(st.booleans()):
        spelled = _SINGLE_CHARACTERS[fraction]
        joint = draw(st.sampled_from(("", " ", "-")))
    else:
        joint = draw(st.sampled_from((" ", "-", "\N{MINUS SIGN}", "  ")))
    return (spelled if whole is None else f"{whole}{joint}{spelled}"), (whole or 0) + fraction


@st.composite
def _with_a_unit(draw: st.DrawFn, chosen: Units) -> tuple[str, Fraction]:
    text, number = draw(st.one_of(_decimals(), _mixed()))
    unit, size = draw(
        st.sampled_from(
            [
                ("", UNIT_MM[chosen]),
                ("in", IN_MM),
                ('"', IN_MM),
                ("inches", IN_MM),
                ("ft", 12 * IN_MM),
                ("'", 12 * IN_MM),
                ("feet", 12 * IN_MM),
                ("yd", 36 * IN_MM),
                ("mm", Fraction(1)),
                ("cm", Fraction(10)),
                ("m", Fraction(1000)),
                ("MM", Fraction(1)),
            ]
        )
    )
    space = draw(st.sampled_from(("", " "))) if unit else ""
    return f"{text}{space}{unit}", number * size


@st.composite
def _feet_and_inches(draw: st.DrawFn) -> tuple[str, Fraction]:
    foot = draw(st.integers(0, 300))
    part, number = draw(
        st.one_of(
            st.integers(0, 11).map(lambda whole: (str(whole), Fraction(whole))),
            st.integers(0, 119).map(lambda tenths: (f"{tenths // 10}.{tenths % 10}", Fraction(tenths, 10))),
            _mixed(11),
        )
    )
    mark = draw(st.sampled_from(("'", "' ", "'-", " ft ", "ft", "\N{PRIME}")))
    end = draw(st.sampled_from(("", '"', " in", "\N{DOUBLE PRIME}")))
    return f"{foot}{mark}{part}{end}", 12 * IN_MM * foot + IN_MM * number


@st.composite
def readings(draw: st.DrawFn, chosen: Units) -> Typed:
    """What a person may key as a reading on a rod in those units, in every accepted form."""
    text, size = draw(st.one_of(_with_a_unit(chosen), _feet_and_inches()).filter(lambda typed: len(typed[0]) <= 20))
    sign, factor = draw(st.sampled_from((("", 1), ("", 1), ("+", 1), ("-", -1), ("- ", -1), ("\N{MINUS SIGN}", -1))))
    return Typed(f"{sign}{text}", factor * size)


@st.composite
def slope_texts(draw: st.DrawFn) -> tuple[str, Fraction]:
    """A slope as a job file writes it, and the ratio it means."""
    sixteenths = draw(st.integers(1, 64))
    run = draw(st.integers(1, 400))
    tenths = draw(st.integers(1, 120))
    return draw(
        st.sampled_from(
            [
                (f"{sixteenths}/16 in/ft", Fraction(sixteenths, 16 * 12)),
                (f"{tenths // 10}.{tenths % 10}%", Fraction(tenths, 1000)),
                (f"{tenths // 10}.{tenths % 10}%", Fraction(tenths, 1000)),
                (f"1:{run}", Fraction(1, run)),
                (f"1 in per {run} ft", Fraction(1, 12 * run)),
                (f"{sixteenths}/16 in per {run} in", Fraction(sixteenths, 16 * run)),
                (f"{tenths} mm/m", Fraction(tenths, 1000)),
                (f"{tenths} cm per {run} m", Fraction(tenths, 100 * run)),
            ]
        )
    )


@st.composite
def in_other_capitals(draw: st.DrawFn, name: str) -> str:
    """The name as someone may type it who leaves the shift key alone, or holds it; just so now and then."""
    return "".join(draw(st.sampled_from((each, each.lower(), each.upper()))) for each in name)


@dataclass(frozen=True)
class Chain:
    """Points that each come from the one before: the entries as a job file writes them, and their elevations."""

    benchmark: str
    entries: tuple[str, ...]
    finishes_mm: tuple[Fraction, ...]

    def job(self, order: list[int] | None = None) -> str:
        """The job file, its points written in that order."""
        written = [self.entries[index] for index in order] if order is not None else self.entries
        points = "".join(f"      {entry}\n" for entry in written)
        return (
            "job: Quarrendon Gardens\nunits: in\n"
            f"benchmarks:\n  SILL: {self.benchmark}\n"
            "tolerances: {finish: 1/8 in}\n"
            f"areas:\n  long walk:\n    points:\n{points}"
        )


@st.composite
def chains(draw: st.DrawFn, longest: int = 8) -> Chain:
    """A chain of falls, rises and flights of steps from one benchmark."""
    benchmark = draw(readings(Units.IN))
    here, origin = benchmark.mm, "SILL"
    entries: list[str] = []
    finishes: list[Fraction] = []
    for number in range(1, draw(st.integers(1, longest)) + 1):
        steps = ""
        way = draw(st.sampled_from(("fall", "rise", None)))
        if way is not None:
            pitch, ratio = draw(slope_texts())
            run = draw(st.integers(1, 500))
            steps += f", {way}: {_quoted(pitch)}, over: {run} ft"
            here += (1 if way == "rise" else -1) * ratio * run * 12 * IN_MM
        way = draw(st.sampled_from(("up", "down", None)))
        if way is not None:
            risers, eighths = draw(st.integers(1, 20)), draw(st.integers(1, 70))
            steps += f", {way}: {risers}, riser: {eighths // 8} {eighths % 8}/8 in"
            here += (1 if way == "up" else -1) * risers * Fraction(eighths, 8) * IN_MM
        start = draw(st.one_of(st.just(origin), in_other_capitals(origin)))
        entries.append(f"P{number}: {{from: {start}{steps}}}")
        finishes.append(here)
        origin = f"P{number}"
    return Chain(_quoted(benchmark.text), tuple(entries), tuple(finishes))


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
