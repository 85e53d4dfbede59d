"""What misclosure a circuit may have: a fixed amount, or an amount times the root of its setups or its distance.

The verdict compares squares of rational numbers, so that a circuit exactly at its limit closes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from math import isqrt
from typing import Literal, Protocol

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT, ZERO, Length, feet, metres, millimetres
from gradecheck.measure.typed import NotUnderstoodError, read_length

KILOMETRE = metres(1000)
MILE = Length(5280 * FOOT)
LONGEST = 48
"""Characters; no rule is longer."""


def _like(units: Units) -> str:
    """Examples of an allowance as a job in those units writes it."""
    words = units.examples
    per = _("0.02 ft per root setup, 12 mm per root km, FGCC third, USACE construction or NRCS")
    return f"{'1/8 in' if '/' in words.tolerance else words.tolerance + words.unit}, {per}"


class Walked(Protocol):
    """What a rule needs to know of a circuit."""

    @property
    def misclosure(self) -> Length:
        """The elevation carried to the closing mark minus its known elevation."""

    @property
    def setups(self) -> int:
        """The setups of all legs."""

    @property
    def distance(self) -> Length | None:
        """The way walked, None where it is not known."""

    @property
    def is_loop(self) -> bool:
        """Whether it comes back to its first mark."""


_FINENESS = 10**9
"""What is allowed is shown to the nanometre below its root, which no screen resolves."""


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a circuit may miss by: `amount`, or that times the root of its setups or of its distance in `over`.

    Some rules allow a loop more than a line, which is `loop` then. `words` is the rule as people write it.
    """

    amount: Length
    per: Literal["circuit", "setup", "distance"] = "circuit"
    over: Length = KILOMETRE
    loop: Length | None = None
    words: str = field(default="", compare=False)

    def square(self, circuit: Walked) -> Fraction:
        """The square of what is allowed, in square metres. Raises ValueError where a leg's distance is not known."""
        amount = self.loop if self.loop is not None and circuit.is_loop else self.amount
        if self.per == "circuit":
            return amount.metres**2
        if self.per == "setup":
            return amount.metres**2 * circuit.setups
        if circuit.distance is None:
            says = _(
                "“{words}” needs the distance of every leg; give them, or choose a rule by setups.", words=self.words
            )
            raise ValueError(says)
        return amount.metres**2 * circuit.distance.metres / self.over.metres


def closes(circuit: Walked, rule: Allowance) -> bool:
    """Whether the misclosure is within what the rule allows, decided exactly; at the limit it is."""
    return circuit.misclosure.metres**2 <= rule.square(circuit)


def allowed(circuit: Walked, rule: Allowance) -> Length:
    """What the rule allows the circuit, to be shown; never rounded up, and never to be compared with."""
    square = rule.square(circuit) * _FINENESS**2
    return Length(Fraction(isqrt(square.numerator // square.denominator), _FINENESS))


def _fgcc(name: str, loop: int, line: int) -> Allowance:
    for_loops = millimetres(loop) if loop != line else None
    return Allowance(millimetres(line), "distance", loop=for_loops, words=_("FGCC {name}", name=name))


def _per_root_mile(name: str, thousandths: int) -> Allowance:
    return Allowance(feet(Fraction(thousandths, 1000)), "distance", MILE, words=name)


# FGCC: Standards and Specifications for Geodetic Control Networks, September 1984, section 3.5 (from memory).
# USACE: EM 1110-1-1005, 1 January 2007, closure table (from memory). NRCS: Engineering Field Handbook, chapter 1
# (from memory). Third order, US customary: a public engineering-exam study guide. 0.02 ft per root setup is what a
# textbook, Elementary Surveying, has for simple levels (second-hand; root from memory).
NAMED: dict[str, Allowance] = {
    "fgcc first i": _fgcc("first I", 4, 3),
    "fgcc first ii": _fgcc("first II", 5, 4),
    "fgcc second i": _fgcc("second I", 6, 6),
    "fgcc second ii": _fgcc("second II", 8, 8),
    "fgcc third": _fgcc("third", 12, 12),
    "usace second i": _per_root_mile(_("USACE second I"), 25),
    "usace second ii": _per_root_mile(_("USACE second II"), 35),
    "usace third": _per_root_mile(_("USACE third"), 50),
    "usace construction": _per_root_mile(_("USACE construction"), 100),
    "nrcs": _per_root_mile("NRCS", 100),
    "third": _per_root_mile("third order", 50),
}
"""The rules that go by a name, each by its words without “order”, “class” and “layout”."""

_FILLING = {"order", "class", "layout"}
_ONE = {"km": KILOMETRE, "kilometre": KILOMETRE, "kilometer": KILOMETRE, "mile": MILE, "mi": MILE}
_SETUP = {"setup", "set up", "set-up"}


def allowance_from(text: str, units: Units) -> Allowance:
    """The rule that a job file writes, such as ``1/8 in``, ``0.02 ft per root setup`` or ``FGCC third``.

    A bare number counts `units`. Raises ValueError with one sentence.
    """
    plain = " ".join(text.split())
    if len(plain) > LONGEST:
        raise ValueError(_("That is too long for an allowance; write it like {like}.", like=_like(units)))
    named = " ".join(word for word in re.split(r"[ ,-]+", plain.casefold()) if word not in _FILLING)
    if named in NAMED:
        return NAMED[named]
    giver = named.partition(" ")[0]
    classes = [rule.words for name, rule in NAMED.items() if name.startswith(f"{giver} ")]
    if classes:
        raise ValueError(
            _("“{plain}” is not a class known here; write one of {classes}.", plain=plain, classes=", ".join(classes))
        )
    amount, per_root, of = (part.strip() for part in plain.casefold().partition(" per root "))
    try:
        length = _positive(amount, units)
        if not per_root:
            return Allowance(length, words=plain)
        one = of.removesuffix("s")
        if one in _SETUP:
            return Allowance(length, "setup", words=plain)
        return Allowance(length, "distance", _ONE.get(one) or _positive(of, units), words=plain)
    except NotUnderstoodError as wrong:
        raise ValueError(
            _("“{plain}” is not an allowance; write it like {like}.", plain=plain, like=_like(units))
        ) from wrong


def _positive(text: str, units: Units) -> Length:
    length = read_length(text, units)
    if length <= ZERO:
        raise ValueError(
            _("“{text}” must be more than zero; write an allowance like {like}.", text=text, like=_like(units))
        )
    return length
