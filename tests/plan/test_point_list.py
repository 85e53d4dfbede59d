"""Point lists are read exactly from any plain table, each bad cell told on its line, and written to be read again."""

from __future__ import annotations

import unicodedata
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length, feet, inches, metres, millimetres
from gradecheck.plan import point_list
from gradecheck.plan.names import LONGEST_NAME, LONGEST_TEXT, hidden_in, name_fault, point_name_fault
from gradecheck.plan.point_list import (
    COLUMNS,
    SYNONYMS,
    Listed,
    order_fault,
    read_point_list,
    write_point_list,
)
from gradecheck.plan.problems import PlanProblemsError, Problem
from gradecheck.plan.texts import TypableName
from tests.plan.sample import harmless, marked
from tests.tables import each_of
from tests.whole import has

FT, M = Units.FT, Units.M


def points_of(
    text: str, units: Units = FT, columns: dict[str, str] | None = None, order: str = "", prefix: str = ""
) -> list[Listed]:
    return read_point_list(text, "walk.csv", units, columns, order, prefix)


def complaints(
    text: str, units: Units = FT, columns: dict[str, str] | None = None, order: str = "", prefix: str = ""
) -> tuple[Problem, ...]:
    with pytest.raises(PlanProblemsError) as refused:
        points_of(text, units, columns, order, prefix)
    return refused.value.problems


def places(problems: tuple[Problem, ...]) -> list[tuple[int, int]]:
    return [(problem.line, problem.column) for problem in problems]


def _feet(x: str, y: str, z: str | None, note: str = "", name: str = "F1") -> Listed:
    at = (feet(Fraction(x)), feet(Fraction(y))) if x else None
    return Listed(name, at, None if z is None else Elevation(feet(Fraction(z)).metres), note, 0)


HEAD = "name,x,y,elevation,note\n"
FIRST = _feet("12", "20.5", "-0.25", "by the oak")

# What a list looks like ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("name,x,y,elevation,note\nF1,12,20.5,-0.25,by the oak\n", id="plain"),
        pytest.param("note,elevation,name,y,x\nby the oak,-0.25,F1,20.5,12\n", id="another-order"),
        pytest.param("Point;North;East;HEIGHT;Remark\nF1;20,5;12;-0,25;by the oak\n", id="semicolon-decimal-comma"),
        pytest.param("id\te\tn\tz\twhat\nF1\t12\t20.5\t-0.25\tby the oak\n", id="tabs"),
        pytest.param("nr\teasting\tnorthing\tel\tdescription\nF1\t12\t20,5\t-0,25\tby the oak\n", id="tabs-comma"),
        pytest.param('"name","x","y","level","note"\n"F1","12","20.5","-0.25","by the oak"\n', id="all-in-quotes"),
        pytest.param("\ufeffname,x,y,elev,note\r\nF1,12,20.5,-0.25,by the oak\r\n", id="BOM-and-CRLF"),
        pytest.param("\ufeff\"name\",x,y,elev,note\rF1,12,20.5,-0.25,by the oak\r", id="BOM-before-a-quote-and-CR"),
        pytest.param("# so\n\nname,x,y,elev,note\n ,, \n#\nF1,12,20.5,-0.25,by the oak\n,,,,\n", id="idle-lines"),
        pytest.param("name,x,y,elev,note,,\nF1,12,20.5,-0.25,by the oak,,\n", id="trailing-separators"),
        pytest.param("name , x , y , elev , note\n F1 , 12 , 20.5 , -0.25 , by the oak \n", id="spaces-around"),
        pytest.param("name,x (in),y [ft],elevation_in,note\nF1,144,20.5,-3,by the oak\n", id="units-of-their-own"),
        pytest.param("name,X (Inches),Y_FT,Elevation [mm],note\nF1,144,20.5,-76.2,by the oak\n", id="in-capitals"),
        pytest.param("name,x,y,elev,note\nF1,12',20' 6\",-3 in,by the oak\n", id="feet-and-inches-unquoted"),
        pytest.param('name,x,y,elev,note\nF1,"12\'","20\' 6""",-1/4 ft,by the oak\n', id="inch-marks-in-quotes"),
        pytest.param("name,x,y,elev,note\nF1,+12,20.500,\N{MINUS SIGN}3 in,by the oak\n", id="true-minus"),
    ],
)  # fmt: skip
def test_the_same_point_is_read_from_every_usual_table(text: str) -> None:
    assert points_of(text) == [FIRST]


@pytest.mark.parametrize(("column", "heading"), [(c, h) for c, headings in SYNONYMS.items() for h in headings])
def test_every_trade_word_for_a_column_is_known_small_and_capital(column: str, heading: str) -> None:
    for written in (heading, heading.upper(), heading.title()):
        table = "name,x,y,elevation,note\n".replace(column, written, 1)
        assert points_of(f"{table}F1,12,20.5,-0.25,by the oak\n") == [FIRST]


@each_of(
    ("unit", "one"),
    [("in", inches(1)), ("ft-in", inches(1)), ("ft", feet(1)), ("mm", millimetres(1)), ("cm", millimetres(10)),
     ("m", metres(1))],
)  # fmt: skip
@each_of("heading", ["x ({})", "x [{}]", "x_{}", "x({})", "EASTING ( {} )"])
def test_a_unit_in_the_heading_goes_before_the_units_of_the_job(unit: str, one: Length, heading: str) -> None:
    [point] = points_of(f"name,{heading.format(unit)},y\nF1,2.5,1\n", M)
    assert point.at == (one * Fraction(5, 2), metres(1))


@pytest.mark.parametrize("units", list(Units))
def test_without_a_unit_in_the_heading_numbers_count_the_units_of_the_job(units: Units) -> None:
    [point] = points_of("name,x,y,z\nF1,1,2,3", units)
    assert point == Listed("F1", (units.one, units.one * 2), Elevation((units.one * 3).metres), "", 2)


def test_three_decimals_are_no_doubt_between_semicolons_or_tabs() -> None:
    assert points_of("name;x;y;z\nF1;1,250;2;3\n", M)[0].at == (metres(Fraction(5, 4)), metres(2))
    assert points_of("name\tx\ty\tz\nF1\t1,250\t2\t3\n", M)[0].at == (metres(Fraction(5, 4)), metres(2))


@pytest.mark.parametrize("text", ["F1;§1,250;2.5;3", "F1\t2.5\t§1,250\t3", 'F1,§"1,250",2,3', "F1;1.5;2;§1.250,5"])
def test_a_comma_that_can_mean_two_things_is_refused(text: str) -> None:
    clean, [place] = marked(text)
    assert places(complaints(clean, M, order="PXYZ")) == [place]


def test_a_cell_may_be_empty_but_name_and_one_way_to_place_the_point() -> None:
    text = "name,x,y,elevation,note\nF1,1,2\nF2,,,3\nF3,,,4,kerb\nF4,1,2,,drain\n"
    assert points_of(text) == [
        _feet("1", "2", None), _feet("", "", "3", "", "F2"), _feet("", "", "4", "kerb", "F3"),
        _feet("1", "2", None, "drain", "F4"),
    ]  # fmt: skip


def test_points_keep_the_order_of_the_list_and_know_their_lines() -> None:
    text = "\r\n# b\rname,elevation\nF2,1\r\n\r\nF1,2\rF3,3"
    assert [(point.name, point.line) for point in points_of(text)] == [("F2", 4), ("F1", 6), ("F3", 7)]


def test_a_list_of_headings_alone_holds_no_points() -> None:
    assert points_of("name,x,y,elevation,note\n") == []


def test_a_note_may_hold_the_separator_and_quotes_where_it_is_quoted() -> None:
    assert points_of(HEAD + 'F1,12,20.5,-0.25,"oak, ""old""; left"')[0].note == 'oak, "old"; left'
    assert points_of(HEAD + "F1,12,20.5,-0.25,oak; left")[0].note == "oak; left"


def test_accents_are_kept_in_one_form_so_names_that_look_alike_are_alike() -> None:
    text = "name,x,y,z\nCafe\N{COMBINING ACUTE ACCENT},,,1\n§Caf\N{LATIN SMALL LETTER E WITH ACUTE},,,2\n"
    clean, [place] = marked(text)
    assert places(complaints(clean)) == [place]


# Without headings ---------------------------------------------------------------------------------------------

ROW = {"P": "F1", "E": "12", "X": "12", "N": "20.5", "Y": "20.5", "Z": "-0.25", "D": "by the oak", "C": "117"}


@each_of("separator", [",", ";", "\t", " ; "])
@each_of("order", ["PNEZD", "PENZD", "PXYZD", "PYXZD", "DZNEP", "PNEZCD", "PCNEZD", "CPNEZD", "NEZDP"])
def test_a_list_without_headings_is_read_by_its_order_in_any_order(order: str, separator: str) -> None:
    row = separator.join(ROW[letter] for letter in order)
    assert points_of(f"{row}\n", order=order) == [FIRST]


@pytest.mark.parametrize(
    "text", ["§F1,12,20.5,-0.25,oak\nF2,a\n", "# so\n\n§F1;12;20,5;-0,25\n", "§1,12,20.5\n2,b,3\n", "§F1,1\n"]
)
def test_without_an_order_of_columns_it_is_refused_once(text: str) -> None:
    clean, [place] = marked(text)
    [problem] = complaints(clean)
    assert (problem.line, problem.column) == place
    assert "has no headings" in problem.says
    assert "“order: PNEZD” in the job file" in problem.says


@pytest.mark.parametrize("order", ["PNEZD", "PENZD", "PNEZ"])
def test_headings_under_an_order_are_refused_for_they_may_say_otherwise(order: str) -> None:
    [problem] = complaints("Point,E,N,Z,Desc\nF1,12,20.5,-0.25,oak\n", order=order)
    assert problem.line == 1
    assert "These are headings" in problem.says


@pytest.mark.parametrize(
    ("order", "says"),
    [
        ("", "is not an order of columns"), ("PQ", "is not an order of columns"), ("PNE Z", "is not an order"),
        ("PNEZZ", "a column twice"), ("PNYZ", "a column twice"), ("PEXNZ", "a column twice"), ("PNEZCC", "twice"),
        ("PNZ", "does not place a point"), ("PEZ", "does not place a point"), ("PD", "does not place a point"),
    ],
)  # fmt: skip
def test_an_order_that_makes_no_points_is_told(order: str, says: str) -> None:
    assert says in (order_fault(order) or "")


@pytest.mark.parametrize("order", ["PNEZD", "PENZ", "PNE", "PZ", "NEZ", "ENZD", "PXYZ", "XYZ", "PYXZC"])
def test_the_usual_orders_are_known(order: str) -> None:
    assert order_fault(order) is None


# Numbers for names --------------------------------------------------------------------------------------------


def test_numbers_for_names_are_refused_once_with_the_way_to_have_them() -> None:
    rows = "".join(f"{number},1,{number},3\n" for number in range(1, 28))
    for text, order, line in ((rows, "PNEZ", 1), ("name,x,y,z\n" + rows, "", 2)):
        [problem] = complaints(text, order=order)
        assert (problem.line, problem.column) == (line, 1)
        assert problem.says == (
            "“1” and 26 more names here could be taken for a reading; "
            "write “prefix: P” next to “file:” in the job file."
        )


def test_a_prefix_goes_before_numbers_alone_and_names_stay_apart() -> None:
    text = "name,x,y,z\n1,1,1,1\nGATE,2,2,2\n007,3,3,3\n12a,4,4,4\n"
    assert [point.name for point in points_of(text, prefix="P")] == ["P1", "GATE", "P007", "P12a"]
    clean, [place] = marked("name,x,y,z\nP1,1,1,1\n§1,2,2,2\n")
    [problem] = complaints(clean, prefix="P")
    assert (problem.line, problem.column) == place
    assert has(problem.says, "“P1” is listed already on line 2")


def test_an_order_without_names_counts_the_rows() -> None:
    points = points_of("# so\n20.5,12,-0.25\n\n1,2,3\n", order="NEZ", prefix="K")
    assert [(point.name, point.at, point.line) for point in points] == [
        ("K1", (feet(12), feet(Fraction(41, 2))), 2),
        ("K2", (feet(2), feet(1)), 4),
    ]


# Far from the zero --------------------------------------------------------------------------------------------


@each_of("units", list(Units))
@each_of("number", ["10000000.00", "12345678", "-10000000.01", "500000000.125", "9999999999.999999"])
def test_a_coordinate_may_be_counted_from_far_away(units: Units, number: str) -> None:
    [point] = points_of(f"F1,{number},{number},1", units, order="PNEZ")
    assert point.at == (units.one * Fraction(number), units.one * Fraction(number))
    assert points_of(write_point_list([point], units), units) == [point]


@pytest.mark.parametrize("number", ["10000000000", "12345678901.5", "1e10"])
def test_but_no_farther_than_any_grid_and_no_elevation_is_so_high(number: str) -> None:
    assert places(complaints(f"F1,1,{number},1", order="PNEZ")) == [(1, 6)]
    assert places(complaints("F1,1,2,12345678", order="PNEZ")) == [(1, 8)]


# Columns named by the caller ----------------------------------------------------------------------------------

GERMAN = "Punkt;Rechts (m);Hoch (m);Soll;Code\nF1;3,6576;6,2484;-0,25;17\n"
COLUMNS_OF_GERMAN = {"name": "Punkt", "x": "rechts", "y": " Hoch  (M)", "elevation": "Soll"}


def test_columns_can_be_named_by_their_headings_with_or_without_the_unit() -> None:
    assert points_of(GERMAN, FT, COLUMNS_OF_GERMAN) == [_feet("12", "20.5", "-0.25")]


def test_columns_not_named_are_passed_over_even_under_a_known_heading() -> None:
    [point] = points_of("name,x,y,elevation,design\nF1,1,2,3,4\n", FT, {"name": "name", "elevation": "design"})
    assert point == _feet("", "", "4")


def test_a_named_heading_that_is_not_there_is_told_with_a_near_one() -> None:
    [problem] = complaints(GERMAN, FT, {**COLUMNS_OF_GERMAN, "note": "Kode"})
    assert str(problem) == "walk.csv:1:1: No column is headed “Kode”, where note should be. Did you mean “Code”?"


def test_a_column_we_do_not_have_is_the_callers_mistake() -> None:
    with pytest.raises(ValueError, match="no such column of a point list: hight"):
        points_of(GERMAN, FT, {"hight": "Soll"})


# What is wrong ------------------------------------------------------------------------------------------------


@each_of(
    ("text", "says"),
    [
        # The whole list.
        pytest.param("§", "This list is empty", id="empty"),
        pytest.param("\ufeff§", "This list is empty", id="BOM-alone"),
        pytest.param("§\n\n# nothing\n", "This list is empty", id="comments-alone"),
        # Headings.
        pytest.param("name,x,y,§elevtion\nF1,1,2,3\n", "“elevtion” is not a heading known here", id="misspelt"),
        pytest.param("name,x,y,§elevtion\n", "Did you mean “elevation”?", id="misspelt-heading-suggestion"),
        pytest.param("name,x,§east,y\nF1,1,1,2\n", "“east” is a second heading for x; keep one.", id="heading-twice"),
        pytest.param("name,§x (yd),y\nF1,1,2\n", "“yd” in a heading is not a unit known here", id="heading-in-yards"),
        pytest.param("name,§x (),y\nF1,1,2\n", "“” in a heading is not a unit known here", id="no-unit-in-brackets"),
        pytest.param("name,elevation,note (oak),§x_rod\n", "“x_rod” is not a heading known here", id="no-unit"),
        pytest.param("§x,y,elevation\n1,2,3\n", "No column is headed “name”; add one.", id="no-name-column"),
        pytest.param("§name,x,elevation\nF1,1,2\n", "none headed “y”; add it.", id="x-column-without-y"),
        pytest.param("§name,y\nF1,1\n", "none headed “x”; add it.", id="y-column-without-x"),
        pytest.param("§name,note\nF1,a\n", "No column is headed “elevation”, and none “x” and “y”", id="no-place"),
        pytest.param("§Punkt,§Lage,§Soll\nF1,1,2\n", "is not a heading known here", id="another-language"),
        pytest.param(f"name,x,y,§{'z' * 121}\nF1,1,2,3\n", "This cell is 121 characters long", id="long-heading"),
        pytest.param('name,x,y,§"z\nF1,1,2,3\n', "not closed", id="heading-with-an-open-quote"),
        # Names.
        pytest.param(HEAD + "§,1,2,3\n", "A name is empty", id="no-name"),
        pytest.param(HEAD + '§" F1",1,2,3\n', "“ F1” begins or ends with a space", id="space-in-a-quoted-name"),
        pytest.param(HEAD + "§12,1,2,3\n", "“12” could be taken for a reading", id="name-like-a-reading"),
        pytest.param(HEAD + f"§{'F' * 25},1,2,3\n", "longer than 24 characters", id="long-name"),
        pytest.param(HEAD + "F1,1,2,3\n\n§f1,1,2,3\n", "“f1” is listed already on line 2", id="name-twice"),
        pytest.param(HEAD + "STRASSE,1,2,3\n§Straße,1,2,3\n", "listed already on line 2", id="name-twice-ß"),
        pytest.param(HEAD + "§'=A1,1,2,3\n", "could be taken for a reading", id="guarded-formula-for-a-name"),
        pytest.param(HEAD + "§=A1,1,2,3\n", "could be taken for a reading", id="formula-for-a-name"),
        # Lengths.
        *(
            pytest.param(HEAD + f"F1,§{number},2,3\n", "x: ", id=f"x-{number[:12]}")
            for number in ("a", "1e5", "1e400000", "NaN", "Infinity", "-inf", "0x10", "1_000", "--1", "9" * 100,
                           "=1+1", "1:48", "3/7", "١", "1.2.3", "12345678901", "0.1234567", "2%", "1 furlong")
        ),
        pytest.param(HEAD + "F1,1,§b,3\n", "y: “b” is not a length; type it like 4.35.", id="y-that-is-none"),
        pytest.param(HEAD + "F1,1,2,§high\n", "elevation: “high” is not a length", id="elevation-that-is-none"),
        pytest.param(HEAD + "F1,1,§,3\n", "y is missing here, though x is given", id="x-without-y"),
        pytest.param(HEAD + "F1,§,2,3\n", "x is missing here, though y is given", id="y-without-x"),
        pytest.param("name,elevation,y,x\nF1,3,1§\n", "x is missing here, though y is given", id="x-cut-off"),
        pytest.param(HEAD + "§F1,,,,a note\n", "This point has no elevation and no x and y", id="nowhere"),
        pytest.param(HEAD + "§F1\n", "This point has no elevation and no x and y", id="a-name-alone"),
        # Cells.
        pytest.param(HEAD + "F1,1,2,3,oak, §left\n", "“left” is in no column", id="comma-in-a-note"),
        pytest.param(HEAD + "F1,12,5,20,5,§-0,25\n", "“-0” is in no column", id="decimal-comma-among-commas"),
        pytest.param("name;x;y;z;note\nF1;1;2;3;a;§b\n", "a text with “;” in it needs", id="semicolon-in-a-note"),
        pytest.param("name\tx\ty\tz\tnote\nF1\t1\t2\t3\ta\t§b\n", "a text with a tab in it", id="tab-in-a-note"),
        pytest.param("name,x,y,,note\nF1,1,2,§3,a\n", "“3” is in no column", id="cell-under-no-heading"),
        pytest.param(HEAD + f"F1,1,2,3,§{'n' * 121}\n", "This cell is 121 characters long", id="long-note"),
        pytest.param(HEAD + f"F1,1,2,3,§{'n' * 10**6}\n", "This cell is 1,000,000 characters long", id="huge-note"),
        pytest.param(HEAD + f"§{'n' * 10**6},1,2,3\n", "This cell is 1,000,000 characters long", id="huge-name"),
        pytest.param(HEAD + f'F1,1,2,3,§"{"n" * 10**6}"\n', "This cell is 1,000,000 characters", id="huge-quoted"),
        pytest.param(HEAD + f"F1,1,§{'9' * 10**6},3\n", "1000000 characters long", id="huge-number"),
        # Quotes.
        pytest.param(HEAD + 'F1,1,2,3,§"oak\nF2,1,2,3,"elm"\n', "is not closed", id="open-quote-ends-with-its-line"),
        pytest.param(HEAD + 'F1,1,2,3,§"oak', "is not closed", id="open-quote-at-the-end"),
        pytest.param(HEAD + 'F1,1,2,3,§"oak""\n', "is not closed", id="doubled-quote-at-the-end"),
        pytest.param(HEAD + 'F1,1,2,3,"oak"§ old\n', "There is text after the quote", id="text-behind-a-quote"),
        pytest.param(HEAD + 'F1,1,2,3,§"oak\nold"\nF2,1,2,3\n', "goes over a line end", id="line-end-in-a-cell"),
        pytest.param(HEAD + 'F1,1,2,3,§"oak\r\nold"', "goes over a line end", id="line-end-in-the-last-cell"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_by_line_and_column(text: str, says: str) -> None:
    clean, expected = marked(text)
    if clean.startswith("\ufeff"):
        expected = [(line, column - 1) for line, column in expected]  # a BOM is no column of its line
    problems = complaints(clean)
    assert places(problems) == expected
    assert all(says in problem.says for problem in problems)
    assert all(len(problem.says) < 300 for problem in problems)


def test_every_bad_row_is_told_and_nothing_is_half_imported() -> None:
    text, expected = marked(
        "name,x,y,elevation,note\n"
        "F1,1,2,3,sound\n"
        "F2,§a,§b,§c,\n"
        "§7,1,2,3,\n"
        'F4,1,2,3,§"open\n'
        "F5,4,5,6,sound\n"
        "§f1,§q,2,3,§" + "n" * 121 + "\n"
        "F8,1,§,3,\n"
        "F9,1,2,3,a,§b\n"
    )
    assert places(complaints(text)) == expected


def test_a_fault_in_the_headings_does_not_hide_or_make_faults_in_the_rows() -> None:
    text, expected = marked("name,x,y,§elevtion\nF1,1,2,3\nF2,§a,2,3\n§f1,,,4\n")
    assert places(complaints(text)) == expected


@each_of("character", ["\x00", "\x07", "\x1b", "\x7f", "\x85", "\u2028", "\u200b", "\ufeff",
                                       "\ud800"])  # fmt: skip
@each_of(
    "text", ["name,elevation\nF1§,3\n", "name,elevation,note\nF1,3,§a\n", "name,elevation\n# §\nF1,3\n",
             "n§ame,elevation\nF1,3\n", 'name,elevation,note\nF1,3,"oak §"\n', "F§1,,,3\n# a\n"],
)  # fmt: skip
def test_a_character_that_can_not_be_seen_is_refused_where_it_stands(text: str, character: str) -> None:
    _, [place] = marked(text)
    order = "PENZ" if text.startswith("F") else ""
    [problem] = complaints(text.replace("§", character), order=order)
    assert (problem.line, problem.column) == place
    assert f"(U+{ord(character):04X}); remove it." in problem.says


def test_a_tab_is_refused_where_it_parts_no_cells() -> None:
    assert places(complaints("name,elevation,note\nF1,3,a\tb\n")) == [(2, 7)]
    assert places(complaints('name\televation\tnote\nF1\t3\t"a\tb"\n')) == [(2, 6)]


def test_a_list_may_have_as_many_points_as_the_limit_and_none_more(monkeypatch: pytest.MonkeyPatch) -> None:
    assert point_list.MOST_ROWS == 50_000
    monkeypatch.setattr(point_list, "MOST_ROWS", 1_500)
    rows = "".join(f"P{number},,,1\n" for number in range(1_500))
    assert len(points_of(rows, order="PENZ")) == 1_500
    for text, order, line in (
        (rows + "Q,,,1\nR,,,1\n", "PENZ", 1_501),
        ("name,e,n,z\n" + rows + "Q,,,1\n", "", 1_502),
    ):
        [problem] = complaints(text, order=order)
        assert (problem.line, problem.says) == (line, "The list goes on past 1,500 points; divide it.")


PIECES = ["name", "x (ft)", "elevation", "F1", "12", "-3 1/4", "1e999", "=1+1", '"', '""', ",", ";", "\t", "\n",
          "\r\n", "\r", "#", "\ufeff", "\x00", " ", "'", "é", "½", "٣", "(", "[", "_m"]  # fmt: skip


@given(st.lists(st.one_of(st.sampled_from(PIECES), st.text(max_size=6)), max_size=60).map("".join))
@example('"' * 500)
@example('name,x\n"\n"\n"\n')
@example("name,x,y,note\nF2,12,-3 1/4,by the oak\nF1,0,0,\n")
def test_any_text_is_points_or_a_list_of_problems_in_the_file(text: str) -> None:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    try:
        found = points_of(text)
    except PlanProblemsError as refused:
        for problem in refused.problems:
            assert 1 <= problem.line <= len(lines)
            assert 1 <= problem.column <= len(lines[problem.line - 1]) + 1
            assert harmless(problem.says)
    else:
        assert [point.line for point in found] == sorted(point.line for point in found)
        assert all(point_name_fault(point.name) is None and hidden_in(point.note) is None for point in found)


# Written out --------------------------------------------------------------------------------------------------


def test_a_list_is_written_with_its_units_and_plain_numbers() -> None:
    points = [FIRST, _feet("", "", "3", "", "F2"), _feet("1", "2", None, 'a "b", c', "F3")]
    assert write_point_list(points, FT) == (
        'name,x (ft),y (ft),elevation (ft),note\r\nF1,12,20.5,-0.25,by the oak\r\nF2,,,3,\r\nF3,1,2,,"a ""b"", c"\r\n'
    )


@pytest.mark.parametrize(
    ("size", "units", "number", "heading"),
    [
        (inches(Fraction(13, 16)), Units.IN, "0.8125", "in"),
        (inches(Fraction(-1, 64)), Units.IN, "-0.015625", "in"),
        (inches(51), Units.FT_IN, "51", "in"),
        (inches(1), Units.FT, "0.083333", "ft"),  # a twelfth has no end in decimals
        (inches(1), Units.MM, "25.4", "mm"),
        (metres(Fraction(1, 1000)), Units.M, "0.001", "m"),
        (millimetres(Fraction(-1, 4_000_000)), Units.MM, "0", "mm"),  # not -0
        (millimetres(Fraction(1, 2_000_000)), Units.MM, "0.000001", "mm"),  # halves away from zero
        (millimetres(Fraction("9999999.999999")), Units.MM, "9999999.999999", "mm"),
        (millimetres(Fraction("9999999.9999995")), Units.MM, "10000", "m"),  # eight digits could not be read again
        (metres(9_999_999), Units.MM, "9999999", "m"),
    ],
)
def test_a_number_is_exact_where_the_unit_can_write_it(size: Length, units: Units, number: str, heading: str) -> None:
    written = write_point_list([Listed("F1", None, Elevation(size.metres), "", 1)], units)
    assert written.splitlines()[0].split(",")[3] == f"elevation ({heading})"
    assert written.splitlines()[1] == f"F1,,,{number},"


@pytest.mark.parametrize("note", ["=1+1", "+1", "-1", "@SUM(A1)", "'=1", "''=1", "=cmd|' /C calc'!A0", '="a"'])
def test_a_note_like_a_formula_comes_back_as_it_was(note: str) -> None:
    written = write_point_list([Listed("F1", None, Elevation(Fraction(-1)), note, 2)], M)
    cell = written.splitlines()[1].removeprefix("F1,,,-1,").lstrip('"')
    assert cell[0] == "'"
    assert points_of(written)[0].note == note


def test_a_name_like_a_formula_is_guarded_too_though_no_list_can_hold_one() -> None:
    assert "\r\n'=A1,,,1," in write_point_list([Listed("=A1", None, Elevation(Fraction(1)), "", 1)], M)


_visible = st.characters(exclude_categories=["Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"])


def _composed(text: str) -> bool:
    return unicodedata.normalize("NFC", text) == text


NAMES = st.text(_visible, min_size=1, max_size=LONGEST_NAME).filter(
    lambda name: point_name_fault(name) is None and _composed(name)
)
NOTES = st.one_of(
    st.text(_visible, max_size=LONGEST_TEXT), st.text(st.sampled_from("'\"=+-@,; #a"), max_size=LONGEST_TEXT)
).filter(_composed)


@st.composite
def lists(draw: st.DrawFn, units: Units) -> list[Listed]:
    """Points whose numbers the unit can write with six decimals."""
    one = (Units.IN if units is Units.FT_IN else units).one
    size = st.integers(1 - 10**13, 10**13 - 1).map(lambda millionths: one * Fraction(millionths, 10**6))
    names = draw(st.lists(NAMES, max_size=6, unique_by=str.casefold))
    points = []
    for name in names:
        place: Place | None = draw(st.none() | st.tuples(size, size))
        height = draw(size if place is None else st.none() | size)
        points.append(Listed(name, place, None if height is None else Elevation(height.metres), draw(NOTES), 0))
    return points


@given(st.sampled_from(Units), st.sampled_from(Units), st.data())
def test_what_is_written_is_read_back_equal_in_any_units(units: Units, other: Units, data: st.DataObject) -> None:
    points = data.draw(lists(units))
    again = points_of(write_point_list(points, units), other)
    assert again == points
    assert [point.line for point in again] == list(range(2, len(points) + 2))


@given(st.permutations(COLUMNS), st.sampled_from([",", ";", "\t"]), st.sampled_from(["\n", "\r\n", "\r"]), lists(M))
def test_neither_order_nor_separator_nor_line_ends_change_a_point(
    order: list[str], separator: str, end: str, points: list[Listed]
) -> None:
    def quoted(text: str) -> str:
        return '"' + text.replace('"', '""') + '"'

    rows = [order]
    for point in points:
        x, y = (None, None) if point.at is None else point.at
        z = None if point.elevation is None else point.elevation.height
        numbers = {key: "" if size is None else f"{size.metres.numerator / size.metres.denominator:.6f}"
                   for key, size in (("x", x), ("y", y), ("elevation", z))}  # fmt: skip
        if separator != ",":
            numbers = {key: number.replace(".", ",") for key, number in numbers.items()}
        # A note that begins with apostrophe and sign would lose the apostrophe: the guard of a spreadsheet.
        cells = {**numbers, "name": point.name, "note": point.note.replace("'", "")}
        rows.append([quoted(cells[column]) for column in order])
    read = points_of("".join(separator.join(row) + end for row in rows), M)
    assert [(p.name, p.note) for p in read] == [(p.name, p.note.replace("'", "")) for p in points]
    assert [(p.at, p.elevation) for p in read] == [(p.at, p.elevation) for p in points]


# Names --------------------------------------------------------------------------------------------------------


@given(st.one_of(NAMES, st.text(max_size=30)))
@example("")
@example(" ")
@example("F" * 24)
@example("F" * 25)
def test_a_point_of_a_list_may_be_called_what_a_point_of_a_job_file_may(name: str) -> None:
    try:
        TypeAdapter(TypableName).validate_python(name)
    except ValidationError as wrong:
        said: str | None = wrong.errors()[0]["msg"]
    else:
        said = None
    assert point_name_fault(name) == said


def test_a_name_that_is_only_painted_may_begin_with_a_digit() -> None:
    assert name_fault("3rd court") is None
    assert point_name_fault("3rd court") is not None
