"""Daily reports as the program writes them, held number by number against the one worked out by hand."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from tests.faults.by_hand import INCH

Said = dict[str, Any]
WORDS = ("cautions", "version", "source", "what", "good_for")
"""What may hold figures that are none of the day's: texts of the program and its version."""
BEFORE = ("seq", "time", "by", "point", "setup")
LOOKS = ("seq", "time", "by", "setup", "mark")
A_MILLIONTH = 1e-6
FIGURES = ("target", "rod", "found", "off")
PAGE = re.compile(r"^.* · \d{4}-\d\d-\d\d\s*$|^page \d+ of \d+\s*$|^.* · \d{4}-\d\d-\d\d\s*page \d+ of \d+\s*$", re.M)


@dataclass
class Held:
    """How many numbers agree, and what does not, in words."""

    numbers: int = 0
    wrong: list[str] = field(default_factory=list)

    def hold(self, where: str, hand: object, told: object) -> None:
        """One value against the one by hand."""
        self.numbers += any(c.isdigit() for c in str(hand))
        if hand != told:
            self.wrong.append(f"{where}: by hand {hand!r}, on the sheet {told!r}")


def hold_json(hand: Any, told: Any, held: Held, where: str = "sheet") -> None:
    """Everything by hand is on the sheet, and no number is on the sheet that is not by hand."""
    if isinstance(hand, dict) and isinstance(told, dict):
        for name, value in told.items():
            if name == "checks":  # those that no number stands in are words
                value = [each for each in value if re.search(r"\d", json.dumps(each, ensure_ascii=False))]
            if name in hand:
                hold_json(hand[name], value, held, f"{where}.{name}")
            elif name not in WORDS and re.search(r"\d", json.dumps(value)):
                held.wrong.append(f"{where}.{name}: not worked out by hand: {json.dumps(value)[:80]}")
        held.wrong += [f"{where}.{name}: not on the sheet" for name in hand.keys() - told.keys()]
    elif isinstance(hand, list) and isinstance(told, list):
        held.hold(f"how many {where}", len(hand), len(told))
        for number, (one, other) in enumerate(zip(hand, told, strict=False)):
            hold_json(one, other, held, f"{where}[{number}]")
    else:
        held.hold(where, hand, told)


def readings(hand: Said) -> Iterator[tuple[str, str, Said]]:
    """Every reading, with its area and stage."""
    for area in hand["areas"]:
        for stage in area["stages"]:
            yield from ((area["name"], stage["stage"], each) for each in stage["readings"])


def hold_csv(hand: Said, files: list[Path], held: Held) -> None:
    """The tables of all areas."""
    told = [row for file in files for row in csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig")))]
    rows = list(readings(hand))
    held.hold("rows", len(rows), len(told))
    for (area, stage, each), row in zip(rows, told, strict=False):
        where = f"{area}, {stage}, no. {each['seq']}"
        cells = {
            "entry": each["seq"], "day": hand["day"], "time": each["time"], "by": each["by"], "area": area,
            "stage": stage, "point": each["point"], "setup": each["setup"], "then": each["then"],
            "now": each["now"], "in doubt": "yes" if each["doubt"] else "no", "remark": each["remark"],
            "log to entry": hand["trace"]["journal_last"], "hash": hand["trace"]["journal_hash_short"],
        }  # fmt: skip
        for name, value in cells.items():
            held.hold(f"{where}, {name}", str(value), row[name])
        for name in FIGURES:
            held.hold(f"{where}, {name}", each[name]["text"], row[f"{name} text"].removeprefix("'"))
            inches, cell = float(Fraction(each[name]["mm"]) / 1000 / INCH), float(row[f"{name} (in)"])
            held.hold(f"{where}, {name} in inches", cell if abs(cell - inches) < A_MILLIONTH else inches, cell)


def hold_text(hand: Said, text: str, held: Held) -> None:
    """The ten lines: each is one of those that follow from the numbers, and the first and the last are there."""
    count, trace = sum(1 for _ in readings(hand)), hand["trace"]
    people = ", ".join(each.partition(" ")[0] for each in hand["people"])
    lines = [f"{hand['job']}, {hand['day']}: {count} readings by {people}."]
    last = f"Log to entry {trace['journal_last']}, hash {trace['journal_hash_short']}."
    stages = []
    for row in hand["summary"]:
        out = [f"{each['point']} {each['now']}" for area, stage, each in readings(hand)
               if (area, stage) == (row["area"], row["stage"]) and each["latest"]
               and each["now"].startswith(("CUT", "FILL"))]  # fmt: skip
        names = f"; out: {', '.join(out)}" if out else ""
        told = (
            f"{row['area']}, {row['stage']}: {row['read']} of {row['points']} read, {row['within']} on grade{names}"
        )
        stages.append((not (out or row["doubt"]), told))
    lines += [told for _, told in sorted(stages, key=lambda each: each[0])]
    dug = "; ".join(
        f"{area}: {told['says']}" for area, told in hand["over_dig"] if not told["says"].startswith("none")
    )
    lines.append(f"Over-dig so far: {dug}")
    doubts = sum(row["doubt"] for row in hand["summary"])
    if doubts:
        lines.append(f"IN DOUBT: {doubts} point{'s' if doubts > 1 else ''}; read again or trust with a reason.")
    lines.append("Local code and the drawings decide.")
    lines = [line if len(line) <= 140 else f"{line[:139].rstrip()}…" for line in [*lines, last]]
    held.hold("the message", "\n".join(lines), text.rstrip("\n"))


def hold_pdf(hand: Said, pdf: Path, held: Held) -> None:
    """Every reading is a line with all its figures, and what is told of setups, counts and circuits is there."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf.read_bytes())).pages]
    lines = [bare(line) for page in pages for line in page.splitlines()]
    whole = bare("".join(PAGE.sub("", page) for page in pages))
    for area, stage, each in readings(hand):
        figures = "".join(each[name]["text"].removesuffix(" in") for name in FIGURES)
        figures = figures.replace("-", "\N{MINUS SIGN}").replace("~", "≈")  # as the PDF sets them
        row = bare(
            "".join(str(each[name]) for name in BEFORE)
            + figures
            + f"{each['then']}{'?' * each['doubt']}{each['now']}"
        )
        held.hold(
            f"{area}, {stage}, no. {each['seq']} in the PDF",
            row,
            row if any(line.startswith(row) for line in lines) else None,
        )
    instrument = hand["instrument"]
    counts = ("area", "stage", "read", "points", "within", "cut", "fill", "undecided", "doubt", "voided", "worst")
    told = [
        *("".join(str(row[name]) for name in counts) for row in hand["summary"]),
        *(each[name] for each in instrument["set_ups"] for name in ("stands", "agreement", "disturbed")),
        *(each["what"] for each in instrument["marks"]), *instrument["circuits"], *hand["open"],
        *(told["says"] for _, told in hand["over_dig"]), *(each["what"] for each in hand["struck"]),
        *hand["people"], hand["trace"]["journal_hash"], hand["trace"]["journal_hash_short"], hand["trace"]["plan"],
        *("".join(str(each[name]) for name in LOOKS) for each in instrument["rechecks"]),
    ]  # fmt: skip
    for text in told:
        held.hold(f"“{text[:60]}” in the PDF", text, text if bare(text) in whole else None)


def bare(text: str) -> str:
    """A text without spaces, its minus as it is set."""
    text = re.sub(r"(?<![\w\-.])-(?=\d)", "\N{MINUS SIGN}", text.replace("\N{ZERO WIDTH SPACE}", ""))
    return re.sub(r"\s", "", text)
