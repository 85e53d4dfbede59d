"""What commands say, and the files they write, of a job: all of it as texts in their order, and as it came out."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

import html5lib
import yaml
from pypdf import PdfReader

from gradecheck.cli import main
from tests.faults.named import Named

KINDS = {"--json": ".json", "--csv": ".csv", "--geojson": ".geojson", "--as-text": ".yaml"}
FORMULA = ("=", "+", "-", "@")


@dataclass
class Said:
    """What came of one command on one way out."""

    where: str
    raw: str
    texts: list[str]


def said(job: Path, named: Named, only: str = "") -> Iterator[Said]:
    """Every command on that job (or those with that word in them), and then each file that was written."""
    out = job / "out"
    out.mkdir()
    for number, line in enumerate(_lines(job, out, named)):
        if only not in line and only:
            continue
        told, wrong = io.StringIO(), io.StringIO()
        with redirect_stdout(told), redirect_stderr(wrong), suppress(SystemExit):  # as argparse leaves
            main(line)
        where = f"{number} {line[0]}"
        yield Said(f"{where}, stdout", told.getvalue(), _texts(told.getvalue(), _kind(line)))
        yield Said(f"{where}, stderr", wrong.getvalue(), _texts(wrong.getvalue(), ".txt"))
    for file in sorted(out.iterdir(), key=_nameless):
        if file.suffix == ".pdf":
            yield Said("day.pdf", "", _of_pdf(file))
        elif file.suffix != ".db" and file.is_file():
            text = file.read_text(encoding="utf-8-sig")
            yield Said(f"file {_nameless(file)}", text, _texts(text, file.suffix))


def _nameless(file: Path) -> str:
    """The name of a file without the area's name in it."""
    return file.name.partition("-")[0]


def _lines(job: Path, out: Path, named: Named) -> Iterator[list[str]]:
    """The commands; what might begin like an option stands behind an equals sign or two dashes."""
    here, area, typed = str(job), named("area"), named("typed")
    for verb in (
        "examine",
        "targets",
        "plan",
        "changes",
        "log",
        "checks",
        "stone",
        "layout",
        "review",
        "circuit",
        "verify",
    ):
        yield [verb, here]
        yield [verb, here, "--json"]
    for line in ("targets --working", "plan --csv", "plan --geojson", "plan --as-text", "log --csv",
                 "review --entries", "report", "report --json"):  # fmt: skip
        yield [*line.split(), here]
    yield ["plan", here, "--svg", str(out / "plan.svg"), "-o", str(out / "sheet.txt")]
    yield ["plan", here, "--csv", "-o", str(out / "points.csv")]
    yield ["plan", here, "--geojson", "-o", str(out / "points.geojson")]
    yield ["rescue", here, "-o", str(out / "rescued.db")]
    yield ["recheck", here, "DOOR=50"]
    yield ["read", "--", here, f"{named('p4')}=54", f"{named('p1')}=51"]
    yield ["mark", f"--what={named('is made')}", "--", here, f"{named('made')}=47"]
    yield ["recheck", "--", here, f"{named('pin')}=54-1/2"]
    yield ["change", f"--why={named('why')}", "--", here, f"{named('p4')}=-4-1/8"]
    yield ["add", f"--what={named('is added')}", "--", here, area, f"{named('added')}2", "-3"]
    yield ["gauge", "--", here, "lippage", area, named("gauged"), "1/4"]
    yield ["layout", "--", here, named("square"), "B-C=240"]
    yield ["layout", "--", here, named("bond")]
    yield ["day", "--", here, named("weather"), named("crew")]
    yield ["checks", f"--area={area}", here]
    yield ["sign", f"--remark={named('remark')}", "--", here, area, named("base")]
    yield ["strike", f"--why={named('struck')}", "--", here, "5"]
    yield ["log", f"--area={area}", here]
    yield ["review", "--entries", f"--person={named('by')}", here]
    for ending in ("pdf", "html", "csv", "json", "txt"):
        yield ["report", here, "--day", "2026-05-12", "-o", str(out / f"day.{ending}")]
    for ending in ("csv", "geojson", "xml"):
        yield ["asbuilt", here, "--all", "-o", str(out / f"built.{ending}")]
    for line in ("asbuilt", "asbuilt --json", "quantities", "quantities --json"):
        yield [*line.split(), here]
    yield ["quantities", here, "-o", str(out / "amounts.csv")]
    yield ["plan", here, "-o", str(out / "drawn.xml")]
    yield ["datum", "--", here, named("datum")]
    yield ["move", f"--why={named('why')}", here]
    # What is refused, or not there at all.
    for verb in ("log", "plan", "targets", "checks"):
        yield [verb, f"--area={typed}", here]
    yield ["setup", f"--rod={typed}", here, "DOOR=50"]
    yield from (["read", here, f"{typed}=5"], ["layout", here, typed], ["gauge", here, "lippage", typed, "x", "1"],
                  ["sign", here, typed, "finish"], ["strike", here, typed, "--why", "x"],
                  ["log", here, "--day", typed],
                  ["report", here, "-o", str(out / named("begun"))], ["datum", here, typed],
                  ["examine", f"{here}{named('folder')}"], ["examine", here, named("note")],
                  ["examine", here, named("typed")],
                  ["instrument", here, named("note"), "1"], ["log", here, f"--day={named('note')}"],
                  ["strike", "--why=x", "--", here, named("note")],
                  ["read", here, f"{typed}=5\x1b]0;x\x07"])  # fmt: skip


def _kind(line: list[str]) -> str:
    if line[0] in ("asbuilt", "quantities") and len(line) == 2:
        return ".csv"  # printed where no file is named
    return next((kind for flag, kind in KINDS.items() if flag in line and "-o" not in line), ".txt")


def _texts(text: str, kind: str) -> list[str]:
    """The texts of a file or an answer, so taken out as a reader of that kind would."""
    if not text:
        return []
    match kind:
        case ".txt" if text.startswith("usage:"):  # argparse quotes in its own way
            return []
        case ".yaml":
            return [*_values(yaml.safe_load(text))]
        case ".csv":
            return [_cell(cell) for row in csv.reader(io.StringIO(text)) for cell in row]
        case ".json" | ".geojson":
            return [*_values(json.loads(text))]
        case ".html":
            page = html5lib.HTMLParser(strict=True).parse(text)
            return [part for each in page.iter() for part in (each.tag, " ".join(each.itertext()))]
        case ".xml":
            tree = _tree(text).iter()
            return [part for each in tree for part in (each.tag, each.text or "", *each.attrib.values())]
        case ".svg":
            return [part for each in _tree(text).iter() for part in (each.tag, " ".join(each.itertext()))]
    return [text]


def _tree(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)  # noqa: S314 - it was written here


def _cell(cell: str) -> str:
    """A cell as a spreadsheet shows it: one that begins like a formula would be worked out."""
    assert not cell.startswith(FORMULA) or re.fullmatch(r"[-+][0-9. /'\"]+( ?[a-z]+)?", cell), f"a formula: {cell!r}"
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(FORMULA) else cell


def _values(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield key
            yield from _values(each)
    elif isinstance(value, list):
        for each in value:
            yield from _values(each)
    else:
        yield str(value)


def _of_pdf(file: Path) -> list[str]:
    """The words of a PDF; nothing in it may be followed or run."""
    reader = PdfReader(file)
    followed = [key for key in ("/OpenAction", "/AA", "/JavaScript") if key in reader.root_object]
    followed += [key for page in reader.pages for key in ("/Annots", "/AA") if key in page]
    assert not followed, f"the PDF has {followed}"
    return ["".join(page.extract_text() for page in reader.pages)]
