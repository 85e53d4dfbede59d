"""What is kept as JSON comes back as the very value, and nothing that is not one is taken for it."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given

from gradecheck.codec import CodecError, decode, encode
from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Plan
from tests.plan.sample import WALK, plan_of
from tests.strategies import Chain, chains, elevations, lengths, notations, ratios, tolerances


@given(lengths)
def test_a_length_comes_back_exactly(length: Length) -> None:
    assert decode(Length, encode(length)) == length


@given(elevations)
def test_an_elevation_comes_back_exactly(elevation: Elevation) -> None:
    assert decode(Elevation, encode(elevation)) == elevation


@given(ratios)
def test_a_slope_comes_back_exactly(ratio: Fraction) -> None:
    assert decode(Slope, encode(Slope(ratio))) == Slope(ratio)


@given(notations(), tolerances())
def test_values_made_of_lengths_come_back_exactly(notation: Notation, tolerance: Tolerance) -> None:
    assert decode(Notation, encode(notation)) == notation
    assert decode(Tolerance, encode(tolerance)) == tolerance


@given(chains())
def test_a_plan_comes_back_exactly(chain: Chain) -> None:
    plan = plan_of(chain.job())
    assert decode(Plan, encode(plan)) == plan


def test_a_plan_with_everything_in_it_comes_back_exactly() -> None:
    plan = plan_of(WALK)
    assert decode(Plan, encode(plan)) == plan


def test_a_fraction_is_written_as_a_fraction() -> None:
    assert encode(inches(Fraction(-45, 16))) == '"-1143/16000"'


@given(chains())
def test_no_float_is_ever_written(chain: Chain) -> None:
    def refuse(text: str) -> float:
        raise AssertionError(text)

    json.loads(encode(plan_of(chain.job())), parse_float=refuse, parse_constant=refuse)


@pytest.mark.parametrize("value", [0.5, float("nan"), object(), {1, 2}, b"bytes"])
def test_what_has_no_exact_form_is_not_written(value: object) -> None:
    with pytest.raises(TypeError, match="has no exact JSON form"):
        encode(value)


@pytest.mark.parametrize(
    "text",
    [
        *("", "null", "0.5", "1", "true", "[]", "{}", "[1, 2]", '{"metres":"1"}'),
        *('""', '"nan"', '"inf"', '"1/0"', '"0x1"', '"1/2/3"', '"half"', '"--1"', "NaN", '"1', "[" * 100_000),
    ],
)
def test_what_is_no_fraction_is_no_length(text: str) -> None:
    with pytest.raises(CodecError):
        decode(Length, text)


@pytest.mark.parametrize(
    "text", ["1e400000", "1e9", "0.5", "1_0", " 1/2", "1/2 ", "\N{ARABIC-INDIC DIGIT THREE}", "+1"]
)
def test_only_a_plain_fraction_is_read_as_one(text: str) -> None:
    """A journal may come from a stranger, and a few characters with an exponent cost a minute to work out."""
    with pytest.raises(CodecError):
        decode(Length, json.dumps(text))


@pytest.mark.parametrize("change", ["drop", "add", "kind", "wrong"])
def test_an_entry_with_other_fields_is_refused(change: str) -> None:
    plain = json.loads(encode(Tolerance(inches(1), inches(2))))
    if change == "drop":
        del plain["low"]
    elif change == "add":
        plain["middle"] = "1"
    elif change == "kind":
        plain["low"] = ["1"]
    else:
        plain["low"] = 0.25
    with pytest.raises(CodecError):
        decode(Tolerance, json.dumps(plain))


def test_a_pair_with_names_is_kept_as_the_list_of_its_two() -> None:
    falls = FallXY(Slope(Fraction(1, 48)), Slope(Fraction(-1, 100)))
    assert encode(falls) == '["1/48","-1/100"]'
    assert decode(FallXY, '["1/48","-1/100"]') == falls
    for wrong in ('["1/48"]', '["1/48","0","0"]', '{"x":"1/48","y":"0"}', '"1/48"'):
        with pytest.raises(CodecError):
            decode(FallXY, wrong)
