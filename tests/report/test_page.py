"""The web page of the daily report: sound, whole by itself, and nothing in it is ever obeyed."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import html5lib
import pytest

from gradecheck.report.daily_report import DailyReport
from gradecheck.report.page import day_page
from tests.report.day import Site

HTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style></svg><img src=x onerror=alert(1)>",
    '"><a href="javascript:alert(1)">',
    "' onload='x",
    "]]><!-- --> &amp; &#60;b&#62;",
    "{{7*7}} ${x} <%= y %>",
    "\u202egate\x00\x1b[31m",
)
TAGS = {
    "html", "head", "meta", "title", "style", "body", "header", "main", "section", "h1", "h2", "h3", "h4", "p",
    "small", "strong", "code", "ul", "li", "dl", "dt", "dd", "div", "table", "thead", "tbody", "tr", "th", "td",
    "figure", "figcaption",
}  # fmt: skip
"""All that a page is ever made of, beside the shapes of its drawings."""
SHAPES = {"svg", "title", "rect", "polygon", "polyline", "line", "path", "circle", "text"}


def read(page: str) -> ET.Element:
    """The page as a browser reads it, by html5lib, which takes no faulty one; each element is one of ours."""
    root: ET.Element = html5lib.HTMLParser(strict=True).parse(page)
    for element in root.iter():
        known = TAGS if element.tag.startswith(HTML) else SHAPES
        assert re.sub(r"^{.*}", "", element.tag) in known, element.tag
        for name, value in element.attrib.items():
            assert not name.startswith("on"), name
            assert "href" not in name
            assert name not in ("src", "style", "srcset", "action", "background", "ping")
            assert "url(" not in value
    return root


def text_of(root: ET.Element) -> str:
    return " ".join(" ".join(root.itertext()).split())


def test_the_page_reads_without_a_fault_and_says_what_the_sheet_says(report: DailyReport) -> None:
    told = text_of(read(day_page(report))).replace("\N{MINUS SIGN}", "-").replace("≈ ", "~")
    for text in (
        report.job,
        *(each.what for each in (*report.struck, *report.changes, *report.notes, *report.instrument.marks)),
        *(each.stands for each in report.instrument.set_ups),
        *(check.says for area in report.areas for stage in area.stages for check in stage.checks),
        *(check.says for layout in report.layouts for check in layout.checks),
        *(f"{limit.what} {limit.limit} {limit.source}" for limit in report.limits),
        *report.cautions,
        *report.open,
        *report.signers,
        report.trace.journal_hash,
        report.trace.journal_hash_short,
    ):
        assert " ".join(text.replace("\N{MINUS SIGN}", "-").split()) in told, text


def test_every_reading_is_a_row_with_all_its_figures(report: DailyReport) -> None:
    rows = {
        tuple(text_of(cell).replace("\N{MINUS SIGN}", "-") for cell in row)
        for row in read(day_page(report)).iter(f"{HTML}tr")
    }
    readings = [each for area in report.areas for stage in area.stages for each in stage.readings]
    assert len(readings) > 6
    for each in readings:
        texts = {figure.text.replace("~", "≈ ") for figure in (each.target, each.rod, each.found, each.off)}
        assert any(row[0] == str(each.seq) and {*texts, each.point} - {""} <= {*row} for row in rows), each


def test_the_owners_part_comes_first_with_its_drawing_and_lines_to_sign_on(report: DailyReport) -> None:
    owner, record = read(day_page(report)).iter(f"{HTML}section")
    assert [text_of(each) for each in owner.iter(f"{HTML}h3")] == ["What was built", "What is out", "What is open"]
    assert len(list(owner.iter(f"{SVG}svg"))) == 1
    assert all(signer in text_of(owner) for signer in report.signers)
    assert text_of(record).startswith("Record")


def test_nothing_is_fetched_and_nothing_is_run(report: DailyReport) -> None:
    page = day_page(report)
    root = read(page)
    [policy] = [each.attrib["content"] for each in root.iter(f"{HTML}meta")
                if each.attrib.get("http-equiv") == "Content-Security-Policy"]  # fmt: skip
    [style] = list(root.iter(f"{HTML}style"))
    digest = base64.b64encode(hashlib.sha256((style.text or "").encode()).digest()).decode()
    assert policy == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) == {"http://www.w3.org/2000/svg"}
    assert set(re.findall(r"@[a-z-]+", style.text or "")) == {"@page", "@media"}, "no style sheet of elsewhere"
    assert "url(" not in page


@pytest.mark.parametrize("name", HOSTILE)
def test_whatever_something_is_called_it_is_text(report: DailyReport, name: str) -> None:
    area = report.areas[0]
    stage = area.stages[0]
    reading = dataclasses.replace(stage.readings[0], point=name, what=name, remark=name, by=name)
    stage = dataclasses.replace(stage, stage=name, allowed=name, readings=(reading,), unread=(name,))
    assert report.map is not None
    points = tuple(dataclasses.replace(each, name=name, what=name) for each in report.map.scene.points)
    drawn = dataclasses.replace(report.map, stage=name, scene=dataclasses.replace(report.map.scene, points=points))
    named = dataclasses.replace(
        report,
        job=name,
        zero=name,
        open=(name,),
        people=(name,),
        rehearsal=name,
        map=drawn,
        areas=(dataclasses.replace(area, name=name, what=name, stages=(stage,), map=drawn),),
    )
    safe = " ".join("".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in name).split())
    assert text_of(read(day_page(named))).count(safe) > 10


def test_the_same_sheet_makes_the_same_page(report: DailyReport) -> None:
    assert day_page(report) == day_page(report)


def test_a_phone_is_told_its_width_and_a_wide_table_scrolls_by_itself(report: DailyReport) -> None:
    root = read(day_page(report))
    assert [each.attrib["content"] for each in root.iter(f"{HTML}meta") if each.attrib.get("name") == "viewport"] == [
        "width=device-width, initial-scale=1"
    ]
    wide = [div for div in root.iter(f"{HTML}div") if "wide" in (div.get("class") or "").split()]
    assert sum(1 for div in wide for _ in div.iter(f"{HTML}table")) == len(list(root.iter(f"{HTML}table")))
    assert all(svg.get("viewBox") for svg in root.iter(f"{SVG}svg"))


def test_a_day_nobody_recorded_anything_is_a_page_too(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    text = text_of(read(day_page(site.report())))
    site.session.close()
    assert "Nothing was measured that day." in text
    assert "no entries this day" in text


def test_on_a_phone_a_short_table_is_a_block_for_each_row_with_its_names(report: DailyReport) -> None:
    """Nothing of what was built stands out of sight; each figure has the name of its column with it."""
    page = day_page(report)
    table = page[page.index("What was built") :].split("</table>")[0]
    heads = re.findall(r'<th scope="col"[^>]*>([^<]*)</th>', table)
    for row in table.split("<tr>")[2:]:
        assert re.findall(r'<td[^>]* data-of="([^"]*)">', row) == heads
    assert 'class="wide short"' in page[: page.index("What is out")]
