"""Points that need no closer look are taken at once, and are what the reader of lists makes of them."""

from __future__ import annotations

from fractions import Fraction
from unittest.mock import patch
from xml.sax.saxutils import quoteattr

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gradecheck.exchange import drawing_points, import_rows, landxml_in
from gradecheck.exchange.answers import ImportAnswers
from gradecheck.exchange.kinds import read, take
from gradecheck.measure.quantities import Length
from gradecheck.plan.problems import PlanProblemsError
from tests.strategies import examples

Row = tuple[str, str, str, str, str]
"""Name, north, east, elevation and description, as the file has them."""


def landxml(*rows: Row) -> bytes:
    points = "".join(
        f"<CgPoint name={quoteattr(name)} desc={quoteattr(note)}>{north} {east} {up}</CgPoint>"
        for name, north, east, up, note in rows
    )
    return f"<LandXML><Units/><CgPoints>{points}</CgPoints></LandXML>".encode()


def a_list(*rows: Row) -> bytes:
    cells = ['"' + '","'.join(each.replace('"', '""') for each in row) + '"' for row in rows]
    return "\n".join(("name;north;east;elevation;note".replace(";", ","), *cells)).encode()


def outcome(content: bytes, answers: ImportAnswers) -> object:
    """The points with all that is known of them, or what is refused."""
    try:
        of = take(read(content, "sent"), answers, "sent")
    except PlanProblemsError as wrong:
        return [(each.line, each.says) for each in wrong.problems]
    return of.questions, of.remarks, [(each, each.line) for each in of.points]


names = st.one_of(
    st.integers(1, 30).map(lambda n: f"P{n}"),
    st.integers(1, 9).map(str),
    st.sampled_from(
        ("p1", "P 1", " P1", "Ｐ1", "Р1", "P-1", "x.5", "é", "#1", "", "a" * 24, "a" * 25, 'a"b', "=B1", "½")
    ),
)
notes = st.one_of(
    st.just(""),
    st.sampled_from(("by the gate", " gate", "=1+1", "'=1", 'a "b", c', "hallé", "\u200b", "n" * 120, "n" * 121)),
)
numbers = st.one_of(
    st.decimals(-3000, 3000, places=9, allow_nan=False).map(lambda n: f"{n:f}"),
    st.sampled_from(("0", "-0", "1.5", "-0.0000005", "9999999.9999995", "9999999999.9999995", "12345678",
                     "-9999", "007")),
)  # fmt: skip
rows = st.lists(st.tuples(names, numbers, numbers, st.one_of(st.just(""), numbers), notes), min_size=1, max_size=6)
answers = st.builds(
    ImportAnswers, units=st.sampled_from(("m", "ft", "in", "mm", "ft-in", "usft")), prefix=st.just("Q")
)


@given(rows, answers, st.sampled_from((landxml, a_list)))
@example([("P1", "1.0000005", "-0.0000005", "2", "")], ImportAnswers(units="ft", prefix="Q"), landxml)
@example([("P1", "1", "2", "3", ""), ("p1", "1", "2", "3", "")], ImportAnswers(units="m", prefix="Q"), landxml)
@example([("P1", "1.", "-.5", "007", "gate"), ("P2", "1", "2", "-9998.5", "")], ImportAnswers(units="ft"), landxml)
@example([("P1", "1", "2", "3", ""), ("P2", "1.5", "1-2", "3", "")], ImportAnswers(units="ft"), landxml)
@example([("P1", "1", "2", "3-1/2", ""), ("P2", "1", "2", '3"', "")], ImportAnswers(units="in", prefix="Q"), a_list)
@examples(100)
def test_points_taken_at_once_are_those_the_reader_of_lists_takes(
    drawn: list[Row], given: ImportAnswers, kind: object
) -> None:
    content = kind(*drawn)  # type: ignore[operator]
    with (
        patch.object(drawing_points, "plainly", lambda *_: None),
        patch.object(import_rows, "plainly", lambda *_: None),
        patch.object(landxml_in, "plain_points", lambda *_: None),
    ):
        closely = outcome(content, given)
    assert outcome(content, given) == closely


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        ("0.0000005", Fraction(1, 1_000_000)),  # half of the last place goes away from zero
        ("-0.0000005", Fraction(-1, 1_000_000)),
        ("0.00000049", Fraction(0)),
        ("12.345678", Fraction(12_345_678, 1_000_000)),
        ("12.3456784", Fraction(12_345_678, 1_000_000)),
    ],
)  # fmt: skip
def test_a_place_is_kept_to_six_decimals(written: str, metres: Fraction) -> None:
    (point,) = take(read(landxml(("P1", "5", written, "1", "")), "sent"), ImportAnswers(units="m"), "sent").points
    assert point.at is not None
    assert point.at[0].metres == metres


def test_plain_points_do_not_go_through_the_reader_of_lists() -> None:
    drawn = [(f"P{n}", f"{n}.123", "4.5", "0.25", "by the gate") for n in range(5)]
    with patch.object(import_rows, "read_point_list", side_effect=AssertionError):
        for content in (landxml(*drawn), a_list(*drawn)):
            assert len(take(read(content, "sent"), ImportAnswers(units="m"), "sent").points) == 5


def test_a_wrong_number_among_thousands_is_told_on_its_line() -> None:
    points = "\n".join(f'<CgPoint name="P{n}">{n} {"1,5" if n == 700 else n} 0.25</CgPoint>' for n in range(1, 2000))
    content = f'<LandXML><Units><Metric linearUnit="meter"/></Units><CgPoints>\n{points}\n</CgPoints></LandXML>'
    with pytest.raises(PlanProblemsError) as refused:
        read(content.encode(), "sent")
    [problem] = refused.value.problems
    assert (problem.line, problem.says[:16]) == (701, "“700 1,5 0.25” i")


def test_of_thousands_of_plain_points_only_those_looked_at_are_made() -> None:
    content = landxml(*((f"P{n}", f"{n}.5", "4", "0.25", "") for n in range(1, 3000)))
    with patch.object(landxml_in, "DrawnPoint", side_effect=AssertionError):
        points = take(read(content, "sent"), ImportAnswers(units="m"), "sent").points
    assert len(points) == 2999
    last = points[-1]
    assert (last.name, last.line, last.at) == ("P2999", 2999, (Length(Fraction(4)), Length(Fraction(5999, 2))))
