"""Money as it is written here, the sign before the number, wherever it is told."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

import gradecheck
from gradecheck.cli import main
from gradecheck.measure.notation import Units
from gradecheck.report.stone import money_text, stone_text

JOB = """\
job: Lark Row
units: {units}
benchmarks: {{DOOR: 0}}
build-ups: {{b: [{{paver: {thick}}}, {{base: {deep}}}]}}
tolerances: {{finish: {tight}, base: {tight}, subgrade: {tight}}}
stone: {{price: {price}}}
areas:
  walk:
    build-up: b
    outline: [[0 m, 0 m], [6 m, 0 m], [6 m, 4 m], [0 m, 4 m]]
    points:
      W1: {{elevation: 0, at: [0 m, 0 m]}}
      W2: {{elevation: 0, at: [6 m, 0 m]}}
      W3: {{elevation: 0, at: [6 m, 4 m]}}
"""
BEHIND = re.compile(r"[0-9] ?\$")
BEFORE = re.compile(r"\$[0-9]")


@pytest.mark.parametrize(
    ("money", "told"),
    [(Fraction(43364, 100), ", $433.64"), (Fraction(0), ", $0.00"), (Fraction(1_234_567), ", $1,234,567.00")],
)
def test_money_has_its_sign_before_it(money: Fraction, told: str) -> None:
    assert money_text(money) == told
    assert stone_text(Fraction(1), Fraction(1000), money, Units.M).endswith(told)


@pytest.mark.parametrize(
    ("units", "price", "each", "later"),
    [
        ("in", "38 $/ton", "$38/ton", "$40/ton"),
        ("in", "$57/yd^3", "$38/ton", "$40/ton"),  # a yard of it, loose, weighs a ton and a half
        ("m", "38 $/t", "$38/t", "$40/t"),
    ],
)
def test_every_command_that_tells_a_price_writes_it_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], units: str, price: str, each: str, later: str
) -> None:
    sizes = {"thick": "2", "deep": "6", "tight": "1/8"} if units == "in" else {
        "thick": "0.06", "deep": "0.15", "tight": "0.003"}  # fmt: skip
    text = JOB.format(units=units, price=price, **sizes)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    job, by = str(tmp_path), ["--by", "RK"]
    rods = ("50", "60 1/2") if units == "in" else ("1.270", "1.535")
    main(["setup", job, f"DOOR={rods[0]}", *by])
    main(["read", job, *(f"W{n}={rods[1]}" for n in (1, 2, 3)), "--stage", "subgrade", *by])
    capsys.readouterr()
    told = []
    for command in (["stone", job], ["checks", job], ["report", job]):
        main(command)
        told.append(capsys.readouterr().out)
        assert BEFORE.search(told[-1]), told[-1]
    assert f"price {each} (" in told[0]
    (tmp_path / "job.yaml").write_text(text.replace("38", "40").replace("57", "60"), encoding="utf-8")
    main(["changes", job])
    told.append(capsys.readouterr().out)
    assert f"stone price: from {each} to {later}" in told[-1]
    assert not any(BEHIND.search(answer) for answer in told)


def test_nowhere_is_a_sign_written_behind_a_number() -> None:
    sources = sorted(Path(gradecheck.__file__).parent.rglob("*.py"))
    wrong = [path.name for path in sources if re.search(r"(?<!\\)[}0-9] \$", path.read_text(encoding="utf-8"))]
    assert wrong == []
