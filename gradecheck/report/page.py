"""The daily report as one web page: nothing fetched, nothing run, every text escaped; it prints as the PDF reads.

A browser is told by the page itself to load nothing and to run nothing (Content Security Policy Level 3); the one
style sheet in it is allowed by its hash.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from xml.sax.saxutils import escape, quoteattr

from gradecheck.catalogue import _, language, not_reviewed
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.names import visible
from gradecheck.report.board import Board
from gradecheck.report.board_paper import board_blocks
from gradecheck.report.daily_report import DailyReport
from gradecheck.report.day_paper import (
    Block,
    Column,
    Drawing,
    Facts,
    Heading,
    Items,
    Signatures,
    Table,
    Words,
    owners_page,
    record,
)
from gradecheck.report.grade_plan import STAKES, label_blocks, plan_blocks
from gradecheck.report.grade_plan import TITLE as PLAN_TITLE
from gradecheck.report.left import TITLE, WorkOrder, order_blocks
from gradecheck.report.pdf import MAP_HIGH
from gradecheck.report.rows import minus, rounding
from gradecheck.report.setting_out import StakeLabel
from gradecheck.report.svg import MOST_NAMED, map_svg

SHORT = 12
"""Rows up to which a table stands on a phone as a block for each row; a longer one is moved across."""
WIDE = 620.0
"""Width of a drawing; on a phone it is moved across rather than read with a glass."""
STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 60rem; background: #fff; color: #000;
  font: 1rem/1.4 system-ui, sans-serif; }
header { border-bottom: 2px solid #000; display: flex; flex-wrap: wrap; gap: 0 1.5rem; align-items: baseline; }
h1 { font-size: 1.5rem; margin: 0; flex: 1 1 auto; overflow-wrap: anywhere; }
h2 { font-size: 1.25rem; margin: 1.6rem 0 0.4rem; }
h3 { font-size: 1.1rem; margin: 1.4rem 0 0.4rem; }
h4 { font-size: 1rem; margin: 1rem 0 0.3rem; font-style: italic; }
small, figcaption, .quiet { font-size: 0.85rem; font-weight: normal; font-style: normal; color: #444; }
p { margin: 0.5rem 0; overflow-wrap: anywhere; }
ul { margin: 0.3rem 0; padding-left: 1.2rem; }
dl { display: grid; grid-template-columns: minmax(5rem, auto) 1fr; gap: 0.2rem 1rem; margin: 0.7rem 0; }
dt { color: #444; }
dd { margin: 0; overflow-wrap: anywhere; }
dd.blank, .line { border-bottom: 1px solid #000; min-height: 1.6rem; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; font-size: 0.9rem; font-variant-numeric: tabular-nums; }
th { font-weight: normal; font-size: 0.8rem; color: #444; text-align: left; border-bottom: 1px solid #000; }
th, td { padding: 0.15rem 0.7rem 0.15rem 0; vertical-align: top; white-space: nowrap; }
.text { white-space: normal; min-width: 9rem; }
.number { text-align: right; }
figure { margin: 0.8rem 0; }
svg { max-width: 100%; min-width: 30rem; height: auto; }
code { font-size: 0.85rem; overflow-wrap: anywhere; }
.signatures { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(22rem, 100%), 1fr)); gap: 1.2rem 2rem;
  margin: 1.5rem 0; }
.rehearsal + p { text-align: center; margin-top: 0; }
.rehearsal { text-align: center; font-size: 1.8rem; font-weight: bold; letter-spacing: 0.3rem; margin: 0; }
@media (max-width: 40rem) { table { font-size: 0.8rem; } .text { min-width: 6rem; } }
@media screen and (max-width: 40rem) {
  .short table, .short tbody, .short tr { display: block; font-size: 0.9rem; }
  .short thead { display: none; }
  .short tr { border-bottom: 1px solid #000; padding: 0.4rem 0; display: flex; flex-wrap: wrap; gap: 0 1.2rem; }
  .short td { padding: 0; white-space: normal; text-align: left; min-width: 0; overflow-wrap: anywhere; }
  .short td:first-child { flex: 1 0 100%; font-weight: bold; }
  .short td:not(:first-child)::before { content: attr(data-of) " "; color: #444; font-size: 0.8rem; }
  .short td:empty { display: none; }
}
@page { margin: 15mm; }
@media print {
  html { font-size: 8.5pt; }
  body { max-width: none; padding: 0; line-height: 1.3; }
  h3 { margin-top: 0.8rem; }
  .record { break-before: page; }
  .wide { overflow: visible; }
  svg { min-width: 0; }
  .owner svg { width: auto; max-height: 52mm; }
  .owner .signatures { gap: 0.4rem 2rem; margin: 0.4rem 0; }
  .owner .line { min-height: 1rem; }
  thead { display: table-header-group; }
  tr, figure, .signatures { break-inside: avoid; }
  h2, h3, h4 { break-after: avoid; }
}
"""


def day_page(report: DailyReport) -> str:
    """The page as text: the owner's part, then the record."""
    sections = [
        '<section class="owner">',
        *_blocks(owners_page(report)),
        "</section>",
        '<section class="record">',
        *_rehearsal(report.rehearsal),
        *_blocks(record(report)),
        "</section>",
    ]
    return _page(report.job, report.title, report.day, report.weekday, report.rehearsal, sections)


def work_order_page(order: WorkOrder) -> str:
    """What is left as one web page."""
    sections = ["<section>", *_blocks(order_blocks(order)), "</section>"]
    return _page(order.job, TITLE, order.day, order.time, order.rehearsal, sections)


def grade_plan_page(plan: Plan, areas: Sequence[Area], notes: Sequence[str], day: str) -> str:
    """The grade plan as one web page, as it is on that day."""
    sections = ["<section>", *_blocks(plan_blocks(plan, areas, notes)), "</section>"]
    return _page(plan.job, PLAN_TITLE, day, "", "", sections)


def board_page(board: Board, now: datetime, place: str) -> str:
    """The board as one web page, as it is now."""
    sections = ["<section>", *_blocks(board_blocks(board, now)), "</section>"]
    return _page(place, _("Board"), f"{now:%Y-%m-%d}", f"{now:%H:%M}", "", sections)


def labels_page(plan: Plan, labels: Sequence[StakeLabel], day: str) -> str:
    """The labels of stakes as one web page."""
    sections = ["<section>", *_blocks(label_blocks(labels)), "</section>"]
    return _page(plan.job, STAKES, day, "", "", sections)


def _page(job: str, title: str, day: str, behind: str, rehearsal: str, sections: Iterable[str]) -> str:
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    parts = [
        "<!DOCTYPE html>",
        f'<html lang="{language()}">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content={quoteattr(policy)}>',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{_text(f'{job}, {title[:1].lower()}{title[1:]} {day}')}</title>",
        f"<style>{STYLE}</style>",
        "</head>",
        "<body>",
        *_rehearsal(rehearsal),
        f"<header><h1>{_text(job)}</h1>",
        f"<p>{_text(title)} <strong>{_text(day)}</strong> {_text(behind)}</p></header>",
        "<main>",
        *sections,
        "</main>",
        *([f'<footer class="quiet">{_text(reviewed)}</footer>'] if (reviewed := not_reviewed()) else []),
        "</body>",
        "</html>",
    ]
    return "\n".join(parts) + "\n"


def _plain(text: str) -> str:
    return minus(visible(text))


def _text(text: str) -> str:
    return escape(minus(visible(text)))


def _rehearsal(said: str) -> Iterator[str]:
    if said:
        says = _("{rehearsal}. Practice only; not a record of work.", rehearsal=said)
        yield f'<p class="rehearsal">{_text(_("REHEARSAL"))}</p><p>{_text(says)}</p>'


def _blocks(blocks: Iterable[Block]) -> Iterator[str]:
    for block in blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    match block:
        case Heading():
            more = f" <small>{_text(block.more)}</small>" if block.more else ""
            # The page's own heading is the first level.
            yield f"<h{block.level + 1}>{_text(block.text)}{more}</h{block.level + 1}>"
        case Words():
            how = ' class="quiet"' if block.quiet else ""
            yield f"<p{how}>{''.join(_piece(*piece) for piece in block.pieces)}</p>"
        case Items():
            yield f"<ul>{''.join(f'<li>{_text(each)}</li>' for each in block.texts)}</ul>"
        case Facts():
            pairs = (f"<dt>{_text(name)}</dt>{_fact(said)}" for name, said in block.pairs)
            yield f"<dl>{''.join(pairs)}</dl>"
        case Table():
            yield from _table(block)
        case Drawing():
            yield from _drawing(block)
        case Signatures():
            below = f"<small>{_text(_('name, signature, date'))}</small>"
            lines = (f'<div>{_text(name)}<div class="line"></div>{below}</div>' for name in block.names)
            yield f'<div class="signatures">{"".join(lines)}</div>'


def _piece(text: str, how: str) -> str:
    if how == "code":  # copied letter by letter
        return f"<code>{escape(visible(text))}</code>"
    return f"<strong>{_text(text)}</strong>" if how == "strong" and text else _text(text)


def _fact(said: str) -> str:
    return f"<dd>{_text(said)}</dd>" if said else '<dd class="blank"></dd>'


def _table(table: Table) -> Iterator[str]:
    kinds = [_kind(column) for column in table.columns]
    short = len(table.rows) <= SHORT
    yield f'<div class="{"wide short" if short else "wide"}"><table><thead><tr>'
    yield "".join(f'<th scope="col"{kind}>{_text(column.head)}</th>'
                  for column, kind in zip(table.columns, kinds, strict=True))  # fmt: skip
    yield "</tr></thead><tbody>"
    for row in table.rows:
        cells = []
        for column, kind, cell in zip(table.columns, kinds, row, strict=True):
            text = _text(rounding(cell.text) if column.figure else cell.text)
            named = f" data-of={quoteattr(_plain(column.head))}" if short else ""
            cells.append(f"<td{kind}{named}><strong>{text}</strong></td>" if cell.strong
                         else f"<td{kind}{named}>{text}</td>")  # fmt: skip
        yield f"<tr>{''.join(cells)}</tr>"
    yield "</tbody></table></div>"


def _kind(column: Column) -> str:
    return ' class="number"' if column.right or column.figure else ' class="text"' if column.wide else ""


def _drawing(drawing: Drawing) -> Iterator[str]:
    scene = drawing.map.scene
    most = 0 if drawing.fills else MOST_NAMED
    picture = map_svg(scene, drawing.caption, WIDE, MAP_HIGH, feet=drawing.map.feet, most_named=most)
    yield f"<figure><figcaption>{_text(drawing.caption)}</figcaption>"
    yield f'<div class="wide">{picture}</div></figure>'
    if scene.unplaced:
        names = ", ".join(each.name for each in scene.unplaced)
        yield f"<p>{_text(_('Without a place on the plan: {points}.', points=names))}</p>"
