"""The PDF says what the state says, whatever people called things, and nothing about the machine it was made on."""

from __future__ import annotations

import dataclasses
import getpass
import io
import re
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from gradecheck.report.daily_report import DailyReport
from gradecheck.report.day_readings import StageOfDay
from gradecheck.report.pdf import _parts, daily_report_pdf, printed
from tests.faults.by_hand_report import read_out
from tests.report.day import Site
from tests.thorough import some
from tests.whole import has

HOSTILE = (
    '#image("/etc/passwd")',
    '#read("daily_report.typ")',
    "*bold* _it_ `raw`",
    "$x$ <label> @ref",
    '"quotes" \\ back',
    "= heading",
    "- item // remark",
    "#{sys.inputs}",
)


def pages(pdf: bytes) -> list[str]:
    """The text of each page, spaces of every width as one, and no place to break a word."""
    texts = (page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    return [re.sub(r"[^\S\n]+", " ", text.replace("\N{ZERO WIDTH SPACE}", "")) for text in texts]


def bare(text: str) -> str:
    """A text without its spaces: where a cell is broken over lines is not what is tested."""
    return re.sub(r"\s", "", text.replace("\N{ZERO WIDTH SPACE}", ""))


def with_readings(report: DailyReport, stage: StageOfDay) -> DailyReport:
    """The report with one area that holds that stage alone."""
    area = dataclasses.replace(report.areas[0], stages=(stage,), map=None)
    return dataclasses.replace(report, areas=(area,))


def test_every_reading_stands_in_the_pdf_with_all_its_figures(report: DailyReport) -> None:
    lines = [bare(line) for page in pages(daily_report_pdf(report)) for line in page.splitlines()]
    for area in report.areas:
        for stage in area.stages:
            for each in stage.readings:
                figures = "".join(
                    bare("".join(_parts(figure.text))) for figure in (each.target, each.rod, each.found, each.off)
                )
                row = bare(
                    f"{each.seq}{each.time}{each.by}{each.point}{each.what}{each.setup}{figures}{each.then}{each.now}"
                )
                assert any(line.startswith(row) for line in lines), row


def test_all_else_that_the_sheet_tells_is_in_the_pdf(report: DailyReport) -> None:
    whole = bare("".join(pages(daily_report_pdf(report))))
    told = [
        *(each.what for each in (*report.struck, *report.changes, *report.notes, *report.instrument.marks)),
        *(each.why for each in (*report.struck, *report.described)),
        *(each.stands for each in report.instrument.set_ups),
        *(each.agreement for each in report.instrument.set_ups),
        *(told.says for area in report.areas for stage in area.stages for told in stage.checks),
        *(told.says for _, told in report.over_dig),
        *(told.says for layout in report.layouts for told in layout.checks),
        *(f"{tape.seq}{tape.between}" for layout in report.layouts for tape in layout.tapes),
        *(f"{limit.what}{limit.limit}{limit.source}" for limit in report.limits),
        *report.cautions,
        *report.instrument.circuits,
        *report.open,
        report.over_dig_total,
        report.trace.journal_hash,
        f"Hash of entry no. {report.trace.journal_last} to read out: {read_out(report.trace.journal_hash)}",
        report.trace.plan,
        *report.signers,
    ]
    for text in told:
        assert bare(printed(text)) in whole, text


def test_the_first_page_is_the_owners(report: DailyReport) -> None:
    first, *others = pages(daily_report_pdf(report))
    for heading in ("What was built", "What is out", "What is open"):
        assert heading in first
    assert has(first, "yard, base: Y2 CUT 1/2")
    assert has(first, "yard: gauged: lippage 3/16 in, by Y3")
    assert all(signer in first for signer in report.signers)
    assert "high: cut" in first, "the meaning of the drawing's signs"
    assert has(first.split("What is open")[1], "Y2 CUT 1/2"), "what is out is named on the drawing"
    assert not any("What was built" in text for text in others)
    assert others[0].startswith("Record")
    assert "(no. " not in first, "numbers of entries are for the record"


def test_the_owners_page_is_one_page_whatever_there_is_to_tell(report: DailyReport) -> None:
    row = report.summary[0]
    open_ = tuple(f"area number {number}: finish not begun, and nobody knows when." for number in range(60))
    summary = tuple(dataclasses.replace(row, area=f"area number {number}") for number in range(60))
    texts = pages(daily_report_pdf(dataclasses.replace(report, summary=summary, open=open_)))
    assert "and 48 areas more; the record has them all" in texts[0]
    assert "and 53 more; the record has them all" in texts[0]
    assert "Inspector" in texts[0]
    assert texts[1].startswith("Record")
    whole = bare("".join(texts))
    assert all(bare(line) in whole for line in open_)


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_pages_have_the_size_asked_for_and_bear_job_day_and_number(
    report: DailyReport, paper: str, size: tuple[int, int]
) -> None:
    pdf = daily_report_pdf(report, "a4" if paper == "a4" else "letter")
    reader = PdfReader(io.BytesIO(pdf))
    texts = pages(pdf)
    for number, (page, text) in enumerate(zip(reader.pages, texts, strict=True), 1):
        assert (round(page.mediabox.width), round(page.mediabox.height)) == size
        assert "Quillmere Court · 2026-05-12" in text
        assert f"page {number} of {len(texts)}" in text
        assert "REHEARSAL" not in text


def test_a_rehearsal_says_so_large_on_every_page(report: DailyReport) -> None:
    rehearsed = dataclasses.replace(report, rehearsal="REHEARSAL, made up from seed 41")
    sizes: list[list[tuple[str, float]]] = []

    def note(text: str, _place: object, _matrix: object, _font: object, size: float) -> None:
        sizes[-1].append((text, size))

    for page in PdfReader(io.BytesIO(daily_report_pdf(rehearsed))).pages:
        sizes.append([])
        page.extract_text(visitor_text=note)
    assert len(sizes) > 1
    for found in sizes:
        large = "".join(text for text, size in found if size >= 20)
        assert "REHEARSAL" in bare(large)
        assert any("Practice only" in text for text, _ in found)


def test_a_table_over_pages_repeats_its_heading(report: DailyReport) -> None:
    stage = report.areas[0].stages[0]
    one = stage.readings[0]
    many = tuple(dataclasses.replace(one, seq=1000 + number, point=f"Q{number}") for number in range(200))
    texts = pages(daily_report_pdf(with_readings(report, dataclasses.replace(stage, readings=many))))
    whole = "\n".join(texts)
    assert all(f"{1000 + number} " in whole for number in range(200))
    with_rows = [text for text in texts if re.search(r"^1\d\d\d ", text, flags=re.MULTILINE)]
    assert len(with_rows) >= 3
    assert all(re.search(r"^no\. ?time ?by ?point", text, flags=re.MULTILINE) for text in with_rows)


@pytest.mark.parametrize("name", some(HOSTILE, HOSTILE[:3]))
def test_whatever_something_is_called_it_is_printed_and_never_obeyed(report: DailyReport, name: str) -> None:
    area = report.areas[0]
    stage = area.stages[0]
    reading = dataclasses.replace(stage.readings[0], point=name, what=name, remark=name, by=name)
    named = dataclasses.replace(
        with_readings(
            report, dataclasses.replace(stage, stage=name, allowed=name, readings=(reading,), unread=(name,))
        ),
        job=name,
        zero=name,
        open=(name,),
        people=(name,),
    )
    whole = bare("".join(pages(daily_report_pdf(named))))
    assert whole.count(bare(printed(name))) >= 9
    assert "root:" not in whole


def test_names_in_right_to_left_scripts_are_printed_in_their_letters(report: DailyReport) -> None:
    named = dataclasses.replace(report, notes=(), job="חצר", zero="ساحة")
    whole = "".join(pages(daily_report_pdf(named)))
    assert all(letter in whole for letter in "חצר")
    assert not any(ord(character) == 0 for character in whole), "each letter has a shape in the fonts inside"


def test_what_is_invisible_is_shown_as_such() -> None:
    assert printed("pump\u202egate\x07") == "pump\ufffdgate\ufffd"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-3 5/8", "−3 5/8"),
        ("F1 lies -1/16 in off", "F1 lies −1/16 in off"),
        ("2026-05-12", "2026-05-12"),
        ("Y-3 to TP-1", "Y-3 to TP-1"),
        ("+1/4 -1/4", "+1/4 −1/4"),
    ],
)
def test_a_minus_is_a_true_one_and_a_hyphen_stays(text: str, shown: str) -> None:
    assert printed(text) == shown


@pytest.mark.parametrize(
    ("text", "before", "fraction"),
    [
        ("-3 5/8", "−3\xa0", "5/8"),
        ("+1/16", "+", "1/16"),
        ("3/8", "", "3/8"),
        ("60", "60", ""),
        ("4.35", "4.35", ""),
        ("4' 3 1/2\"", "4' 3\xa0", '1/2"'),
        ("~-3/8", "≈\u202f−", "3/8"),
        ("~-15", "≈\u202f−15", ""),
        ("", "", ""),
    ],
)
def test_a_figure_is_taken_apart_at_its_fraction(text: str, before: str, fraction: str) -> None:
    assert _parts(text) == [before, fraction]


def test_an_empty_day_is_one_sheet_that_says_nothing_was_recorded(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    texts = pages(daily_report_pdf(site.report(date(2026, 5, 14))))
    assert "no entries this day" in texts[0]
    old = ("set-up", "looked at again", "taken over", "who sets", "stands beside", "put right", "journal")
    assert [word for word in old if word in "".join(texts).lower()] == []
    assert "Foreman" in "".join(texts)
    site.session.close()


def test_the_same_sheet_makes_the_same_file_with_no_trace_of_the_machine(report: DailyReport) -> None:
    one, other = daily_report_pdf(report), daily_report_pdf(report)
    assert one == other
    reader = PdfReader(io.BytesIO(one))
    known = {"/Title", "/Creator", "/CreationDate", "/ModDate", "/Producer"}
    assert reader.metadata is not None
    assert set(reader.metadata) <= known
    assert str(reader.metadata["/CreationDate"]).startswith("D:20260512000000")
    everything = one.decode("latin-1") + str(reader.xmp_metadata and reader.xmp_metadata.stream.get_data())
    for private in (str(Path.home()), str(Path(__file__).parents[2]), getpass.getuser() + "@"):
        assert private not in everything
    fonts = set(re.findall(r"/BaseFont\s*(/[^\s/<>]+)", one.decode("latin-1")))
    assert fonts
    assert all(re.match(r"/[A-Z]{6}\+(LibertinusSerif|DejaVuSansMono)", font) for font in fonts), "all are inside"
