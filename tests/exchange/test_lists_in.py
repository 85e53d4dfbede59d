"""Lists from outside, written by other libraries: in any form, northing and easting asked for."""

from __future__ import annotations

import contextlib
import csv
import io
import time
import zipfile
from dataclasses import replace
from datetime import date
from fractions import Fraction

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.exchange.answers import ImportAnswers, ImportResult
from gradecheck.exchange.found import FoundDrawing, Grid
from gradecheck.exchange.kinds import read, take
from gradecheck.exchange.list_in import read_xlsx
from gradecheck.plan.problems import PlanProblemsError
from tests.strategies import examples

METERS = ImportAnswers(units="m", order="PNEZD")
FOOT = Fraction(3048, 10_000)


def taken(content: bytes, answers: ImportAnswers = METERS) -> ImportResult:
    return take(read(content, "list", answers.sheet), answers, "list")


def figures(of: ImportResult) -> list[tuple[str, Fraction, Fraction, Fraction]]:
    """Name, x, y and elevation in meters."""
    assert of.questions == []
    return [
        (each.name, each.at[0].metres, each.at[1].metres, each.elevation.metres)
        for each in of.points
        if each.at and each.elevation
    ]


def refused(content: bytes, answers: ImportAnswers = METERS) -> str:
    """What is said of a list that can't be taken."""
    with pytest.raises(PlanProblemsError) as wrong:
        taken(content, answers)
    return "\n".join(str(each) for each in wrong.value.problems)


def workbook(*rows: list[object]) -> bytes:
    """A workbook of one sheet, by another library."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


ROWS = [("A1", "1000.125", "500.5", "12.25", "kerb"), ("A2", "1010", "510.25", "12.5", "by the gate")]
WANTED = [
    ("A1", Fraction(1001, 2) , Fraction(8001, 8), Fraction(49, 4)),
    ("A2", Fraction(2041, 4), Fraction(1010), Fraction(25, 2)),
]  # fmt: skip


@given(
    st.sampled_from(",;\t"),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    st.booleans(),
    st.booleans(),
    st.permutations("PNEZD"),
)
def test_a_list_of_any_dialect_is_taken_in_the_order_that_was_answered(
    separator: str, ends: str, encoding: str, comma: bool, blank: bool, order: list[str]
) -> None:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator=ends)
    for row in ROWS:
        told = dict(zip("PNEZD", row, strict=True))
        if comma and separator != ",":
            told |= {letter: told[letter].replace(".", ",") for letter in "NEZ"}
        writer.writerow([told[letter] for letter in order])
        if blank:
            writer.writerow([])
            writer.writerow([""] * 5)
    content = out.getvalue().encode(encoding)
    assert figures(taken(content, ImportAnswers(units="m", order="".join(order)))) == WANTED


def test_bars_and_runs_of_spaces_part_cells_too() -> None:
    for separator in ("|", "  "):
        content = "\n".join(separator.join(row[:4]) for row in ROWS).encode()
        assert figures(taken(content, ImportAnswers(units="m", order="PNEZ"))) == WANTED


def test_the_line_by_which_spreadsheets_tell_the_separator_is_no_row() -> None:
    content = b"sep=;\r\n" + b"\r\n".join(";".join(row).encode() for row in ROWS)
    assert figures(taken(content)) == WANTED


def test_without_headings_order_and_units_are_asked_and_nothing_is_taken() -> None:
    of = taken("\n".join(",".join(row) for row in ROWS).encode(), ImportAnswers())
    assert of.points == []
    assert "PNEZD or PENZD fit alike" in of.questions[0]
    assert "--units" in of.questions[1]


def test_a_swap_of_northing_and_easting_is_a_swap_of_y_and_x() -> None:
    content = "\n".join(",".join(row) for row in ROWS).encode()
    one = figures(taken(content))
    other = figures(taken(content, ImportAnswers(units="m", order="PENZD")))
    assert [(n, y, x, z) for n, x, y, z in one] == other


@pytest.mark.parametrize(
    ("headings", "factor"),
    [
        ("Pt No,N (ft),E (ft),Elev (ft),Desc", FOOT),
        ("POINT_ID,Northing [m],Easting [m],RL [m],CODE", Fraction(1)),
        ("Point,y_mm,x_mm,Z_mm,Remarks", Fraction(1, 1000)),
        ("No.,North (usft),East (usft),Grade (usft),Feature", Fraction(1200, 3937)),
    ],
)
def test_headings_that_say_all_leave_nothing_to_ask(headings: str, factor: Fraction) -> None:
    content = "\n".join([headings, *(",".join(row) for row in ROWS)]).encode()
    for got, wanted in zip(figures(taken(content, ImportAnswers())), WANTED, strict=True):
        assert got[0] == wanted[0]
        for one, other in zip(got[1:], wanted[1:], strict=True):
            assert abs(one - other * factor) <= Fraction(1, 10**6)


def test_headings_that_are_not_known_are_asked_for_and_can_be_named() -> None:
    content = "\n".join(["Stn,Rechts,Hoch,OK,Txt", *(",".join(row) for row in ROWS)]).encode()
    asked = taken(content, ImportAnswers(units="m"))
    assert [each.column for each in asked.questions] == ["name", "y", "x", "elevation"]
    assert "Which column is the northing? Left over: “Rechts”, “Hoch”, “OK”." in asked.questions[1]
    assert all(f'--columns "{each.column}=…"' in each for each in asked.questions)
    columns = {"name": "Stn", "y": "rechts", "x": "Hoch", "elevation": "4"}
    of = taken(content, ImportAnswers(units="m", columns=columns))
    assert figures(of) == WANTED
    assert any("skipped: “Txt”" in remark for remark in of.remarks)


@given(st.permutations(["name", "y", "x", "elevation"]))
@examples(10)
def test_columns_are_answered_one_by_one_in_any_order(order: list[str]) -> None:
    content = "\n".join(["Stn,Rechts,Hoch,OK,Txt", *(",".join(row) for row in ROWS)]).encode()
    named = {"name": "1", "y": "rechts", "x": "Hoch", "elevation": "OK"}
    answers = ImportAnswers(units="m")
    for column in order:
        left = [each.column for each in taken(content, answers).questions]
        assert left == [each for each in named if each not in answers.columns]
        answers = replace(answers, columns={**answers.columns, column: named[column]})
    assert figures(taken(content, answers)) == WANTED


def test_none_is_an_answer_for_a_column() -> None:
    content = "\n".join(["Stn,Rechts,Hoch,OK,Txt", *(",".join(row) for row in ROWS)]).encode()
    of = taken(content, ImportAnswers(units="m", columns={"y": "none", "name": "Stn", "elevation": "OK"}))
    assert of.questions == []
    assert [(each.name, each.at) for each in of.points] == [("A1", None), ("A2", None)]
    of = taken(content, ImportAnswers(units="m", columns={"name": "none", "x": "3", "y": "2", "elevation": "4"}))
    assert [each.key for each in of.questions] == ["prefix"]
    nothing = ImportAnswers(units="m", columns=dict.fromkeys(("name", "x", "elevation"), "none"))
    assert "no column is one" in refused(content, nothing)


def test_no_column_is_two_at_once() -> None:
    content = "\n".join(["Stn,Rechts,Hoch,OK,Txt", *(",".join(row) for row in ROWS)]).encode()
    twice = ImportAnswers(units="m", columns={"y": "Rechts", "x": "2"})
    assert "“2” can't be both y and x" in refused(content, twice)


def test_a_name_under_an_unknown_heading_is_asked_for() -> None:
    content = "\n".join(["Stn,N,E,Z", *(",".join(row[:4]) for row in ROWS)]).encode()
    [asked] = taken(content, ImportAnswers(units="m")).questions[:1]
    assert "Which column is the point's name? Left over: “Stn”." in asked


def test_two_columns_that_could_be_one_are_asked_for() -> None:
    content = "\n".join(["Pt,N,E,Z,RL", *(",".join([*row[:4], "1"]) for row in ROWS)]).encode()
    assert "“Z” and “RL” both could be elevation" in taken(content, ImportAnswers(units="m")).questions[0]


def test_titles_above_the_headings_are_passed_over_and_told() -> None:
    lines = [
        "Alder Row, stage 2",
        "issued for grading,,,,",
        "Pt,N,E,Z,Note",
        "no,ft,ft,ft,",
        *(",".join(row) for row in ROWS),
    ]
    of = taken("\n".join(lines).encode(), ImportAnswers(units="m"))
    assert figures(of) == WANTED
    assert sum(remark.startswith("skipped above the points") for remark in of.remarks) == 3


def test_a_description_with_a_comma_is_kept_whole() -> None:
    of = taken(b"A1,1,2,3,TREE, OAK 12 in\nA2,1,2,3\n")
    assert [each.note for each in of.points] == ["TREE, OAK 12 in", ""]
    assert "“OAK” is in no column" in refused(b"A1,1,2,3,OAK\n", ImportAnswers(units="m", order="PNEZ"))
    assert "“OAK” is in no column" in refused(b"Pt,N,E,Z\nA1,1,2,3,OAK\n", ImportAnswers(units="m"))


def test_one_column_can_be_named_and_the_rest_go_by_headings() -> None:
    content = b"area,stage,point,x (m),y (m),target (m),found (m)\nyard,base,A1,1,2,3,3.125\n"
    of = taken(content, ImportAnswers(columns={"elevation": "found"}))
    assert figures(of) == [("A1", 1, 2, Fraction(25, 8))]


def test_a_column_that_could_be_the_elevation_is_told() -> None:
    content = b"Pt,N,E,F.G. at curb,Note\nA1,1,2,3,x\n"
    [asked] = taken(content, ImportAnswers(units="m")).questions
    assert "Which column is the elevation? Left over: “F.G. at curb”." in asked
    assert figures(taken(content, ImportAnswers(units="m", columns={"elevation": "f.g. at curb"}))) == [
        ("A1", 2, 1, 3)
    ]
    of = taken(content, ImportAnswers(units="m", columns={"elevation": "none"}))
    assert of.questions == []
    assert of.points[0].elevation is None


def test_numbered_points_ask_for_a_letter() -> None:
    content = "\n".join(",".join((str(n), *row[1:])) for n, row in enumerate(ROWS, 1)).encode()
    assert "--prefix P" in taken(content).questions[0]
    of = taken(content, ImportAnswers(units="m", order="PNEZD", prefix="K"))
    assert [each.name for each in of.points] == ["K1", "K2"]


def test_decimals_longer_than_a_list_keeps_are_rounded_to_six() -> None:
    of = taken(b"A1,1000.1250000001,500.49999999,12.25000004999,x")
    assert figures(of) == [("A1", Fraction(1001, 2), Fraction(8001, 8), Fraction(49, 4))]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ('A1,"1,250",500,12,x', "can mean two things"),
        ("A1,1000,500,2-Jan,x", "a spreadsheet made a date of a fraction"),
        ("A1,1000,500,1/2/2026,x", "a spreadsheet made a date of a fraction"),
        ("A1,1000,500,twelve,x", "“twelve” is not a length"),
        ("A1,1000,,12,x", "x is missing here"),
        (",1000,500,12,x", "A name is empty"),
        ('A1,"1000,500,12,x', "is not closed"),
        ("A1,1000,500,1e999,x", "is not a length"),
        ("A1,1000,500,1e999999999,x", "is not a length"),
        ("A1,1000,500,nan,x", "is not a length"),
    ],
)
def test_what_can_not_be_read_is_told_with_its_line(row: str, says: str) -> None:
    text = refused(f"A0,1,2,3,x\n\n{row}\n".encode())
    assert says in text
    assert "list:3:" in text


def test_a_name_twice_names_the_line_of_the_first() -> None:
    text = refused(b"A1,1,2,3,x\nA2,1,2,3,x\na1,1,2,3,x\n")
    assert "line 3: " in text
    assert "at line 1 already" in text or "at line 1" in text


def test_a_name_that_begins_like_a_remark_is_not_passed_over() -> None:
    # In the file it stands in quotes; unquoted it is a remark, as in every list here.
    assert "#1" in refused(b'A1,1,2,3,x\n"#1",1,2,3,x\n')


# -- workbooks


HEADINGS: list[object] = ["Point", "North (m)", "East (m)", "Z (m)", "Note"]


def test_a_workbook_is_known_by_content_its_numbers_as_typed() -> None:
    content = workbook(
        HEADINGS, ["A1", 1000.125, 500.5, 12.25, "kerb"], [None] * 5, ["A2", 1010, "510,25", 12.5, None]
    )
    assert figures(taken(content, ImportAnswers())) == WANTED
    assert figures(taken(workbook(HEADINGS, ["A1", 0.1 + 0.2, 0.1, 1e-7, ""]), ImportAnswers())) == [
        ("A1", Fraction(1, 10), Fraction(3, 10), Fraction(0))
    ]


def test_a_date_and_a_formula_without_a_result_are_named_with_their_row() -> None:
    text = refused(workbook(HEADINGS, ["A1", 1, 2, date(2026, 1, 2), ""]), ImportAnswers())
    assert "row 2, elevation" in text
    assert "made a date of a fraction" in text
    text = refused(workbook(HEADINGS, ["A1", 1, 2, 3, ""], ["A2", 1, 2, "=D2+1", ""]), ImportAnswers())
    assert "row 3, elevation: a formula without a result" in text


@pytest.mark.parametrize("value", [True, "#N/A", "1,2,3"])
def test_a_cell_that_is_no_length_is_refused(value: object) -> None:
    assert "elevation" in refused(workbook(HEADINGS, ["A1", 1, 2, value, ""]), ImportAnswers())


def test_of_several_sheets_one_is_named() -> None:
    book = openpyxl.Workbook()
    for sheet in (book.active, book.create_sheet("other")):
        sheet.append(HEADINGS)
        sheet.append(["A1", 1, 2, 3, sheet.title])
    out = io.BytesIO()
    book.save(out)
    assert "--sheet: “Sheet”, “other”" in refused(out.getvalue(), ImportAnswers())
    assert taken(out.getvalue(), ImportAnswers(sheet="other")).points[0].note == "other"
    assert "There is no sheet “none”" in refused(out.getvalue(), ImportAnswers(sheet="none"))


def changed(content: bytes, part: str, old: bytes, new: bytes) -> bytes:
    """The workbook with a part written anew."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as packed, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as written:
        for name in packed.namelist():
            data = packed.read(name)
            assert name != part or old in data
            written.writestr(name, data.replace(old, new) if name == part else data)
    return out.getvalue()


def test_hidden_rows_are_told_and_a_false_size_hides_nothing() -> None:
    content = workbook(HEADINGS, ["A1", 1000.125, 500.5, 12.25, "kerb"], ["A2", 1010, 510.25, 12.5, ""])
    sheet = "xl/worksheets/sheet1.xml"
    hidden = changed(content, sheet, b'<row r="3"', b'<row r="3" hidden="1"')
    of = taken(hidden, ImportAnswers())
    assert figures(of) == WANTED
    assert any("1 hidden row is imported too" in remark for remark in of.remarks)
    assert figures(taken(changed(content, sheet, b'ref="A1:E3"', b'ref="A1:A1"'), ImportAnswers())) == WANTED


def test_what_unpacks_to_too_much_is_refused_before_it_is_read() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 40_000_000)
    assert "unpacks to more than 64 MB" in refused(out.getvalue())
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("readme.txt", b"no workbook")
    assert "holds no workbook" in refused(out.getvalue())
    assert "is damaged" in refused(workbook(HEADINGS)[:900])


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "This list is empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "save it as .xlsx"),
        (b"AC1032\x00", "export it as DXF"),
        (b"%PDF-1.7", "This is a PDF"),
        (b"name,x,y\n", "no points"),
    ],
)
def test_other_files_are_refused_by_what_they_are(content: bytes, says: str) -> None:
    assert says in refused(content)


def test_a_list_past_the_most_rows_is_refused_in_words() -> None:
    content = b"".join(b"A%d,1,2,3\n" % n for n in range(50_002))
    assert "past 50,000" in refused(content, ImportAnswers(units="m", order="PNEZ"))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"1," * 10_001, "no row of a list has so many"),
        (b"\n" * 200_001, "past 200,000 lines"),
        (b"A" * 20_000_001, "larger than 20 MB"),
        (b"{" + b" " * 20_000_001, "larger than 20 MB"),
        (b"<LandXML a='" + b"x" * 1_200_000, "past a million characters"),
        (b"<LandXML><CgPoints><CgPoint>" + b"1 " * 5_000, "more than three numbers"),
        (b"  0\nSECTION\n" + b"  0\nPOINT\n" * 400_001, "more than 200,000 entities"),
        (b"\0" * 64_000_001, "larger than 64 MB"),
    ],
    ids=["line", "lines", "list", "geojson", "tag", "text", "dxf", "file"],
)
def test_what_is_too_much_is_refused_in_words_and_soon(content: bytes, says: str) -> None:
    began = time.process_time()
    assert says in refused(content)
    assert time.process_time() - began < 5


# -- whatever comes


NOISE = st.one_of(
    st.binary(max_size=300),
    st.text(alphabet="A1.,;\t|\"\n -/'=#\ufeff", max_size=200).map(lambda text: text.encode("utf-8")),
)


@given(
    NOISE, st.sampled_from(["PNEZD", "ENZ", ""]), st.sampled_from(["m", "ft-in", "usft"]), st.sampled_from(["", "P"])
)
@examples(400)
def test_any_bytes_are_points_questions_or_problems(content: bytes, order: str, units: str, prefix: str) -> None:
    answers = ImportAnswers(units=units, order=order, prefix=prefix)
    with contextlib.suppress(PlanProblemsError):
        found = read(content, "list")
        assert isinstance(found, Grid | FoundDrawing)
        of = take(found, answers, "list")
        assert not (of.points and of.questions)


BOOK = workbook(HEADINGS, ["A1", 1, 2, 3, "x"])


@given(st.data())
@examples(100)
def test_a_workbook_spoiled_anywhere_is_read_or_refused(data: st.DataObject) -> None:
    content = bytearray(BOOK)
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(0, len(content)))
    for each in (bytes(content), bytes(content[:cut])):
        with contextlib.suppress(PlanProblemsError):
            assert read_xlsx(each, "list").rows
