"""What only reads needs no initials, no cell is a formula, offsets are told, giants are answered at once."""

from __future__ import annotations

import csv
import io
import time
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.plan.csv_rows import guarded, unguarded
from gradecheck.report.spreadsheet import safe_cell
from tests.app.driving import Clock, ready_job, recorded, write_job
from tests.tables import each_of

READS = ("log", "verify", "review", "targets", "checks", "examine", "report", "plan", "stone", "plan", "circuit",
         "layout", "rules", "datum")  # fmt: skip
NO_INITIALS = ("1", "toolonginitials", " ", "R$K", "--")
SIGNS = "=+-@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b"


@pytest.mark.parametrize("by", NO_INITIALS)
def test_a_variable_that_is_no_initials_stops_only_what_records(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], by: str
) -> None:
    job = ready_job(tmp_path / "court", Clock())
    monkeypatch.setenv("GRADECHECK_BY", by)
    for verb in READS:
        assert main([verb, str(job)]) in (0, 1), verb
    before, told = recorded(job), []
    capsys.readouterr()
    for verb, *given in (("move",), ("day", "dry", "RK"), ("datum", "job"), ("mark", "TP1=49"), ("setup", "DOOR=50")):
        assert main([verb, str(job), *given]) == 2, verb
        told.append(capsys.readouterr().err)
    assert f"GRADECHECK_BY is “{by}”. Initials are one to 8 letters, for example RK.\n" in told
    assert recorded(job) == before, "nobody else's initials are put in its place"
    assert main(["move", str(job), "--by", "RK"]) == 0


@each_of("sign", SIGNS)
@each_of("before", ["", "\t", "\r", " ", "\n", "'", "\N{NO-BREAK SPACE}"])
def test_no_cell_begins_like_a_formula_whatever_stands_before_its_sign(before: str, sign: str) -> None:
    text = f"{before}{sign}1+1"
    assert str(safe_cell(text)).startswith("'")
    assert guarded(text) == f"'{text}"
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize("text", ["51-3/8", "a note = b", "P1", "51 3/8", "'quoted'"])
def test_other_cells_stay_as_they_are(text: str) -> None:
    assert safe_cell(text) == guarded(text) == text


def test_the_log_tells_each_entrys_offset(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = ready_job(tmp_path / "court", Clock())
    assert main(["log", str(job)]) == 0
    assert "07:30-05:00 RK" in capsys.readouterr().out
    assert main(["log", str(job), "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {row["offset"] for row in rows} == {"'-05:00"}
    assert main(["log", str(job), "--json"]) == 0
    assert '"offset": "-05:00"' in capsys.readouterr().out


HEAD = "job: x\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8}\nareas:\n  a:\n    points: {A: 1}\n"
GIANTS = {
    "keys": HEAD + "".join(f"k{n}: 1\n" for n in range(70_000)),
    "points": HEAD.replace("{A: 1}", "") + "".join(f"      P{n}: 1\n" for n in range(70_000)),
    "ring": HEAD + "    outline: [" + ",".join(f"[{n % 9},{n % 7}]" for n in range(90_000)) + "]\n",
}
RING = ",".join(f"[{n % 9},{n % 7}]" for n in range(90_000))
SHAPE = f'{{"type":"Polygon","coordinates":[[{RING}]]}}'


@pytest.mark.parametrize("giant", GIANTS)
def test_a_giant_of_a_job_file_is_answered_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], giant: str
) -> None:
    job = write_job(tmp_path / "court", GIANTS[giant])
    begun = time.process_time()
    assert main(["examine", str(job)]) == 1
    assert time.process_time() - begun < 1
    out = capsys.readouterr().out
    assert "put long lists into files of their own" in out
    assert out.count("\n") <= 2


def test_a_giant_of_an_outline_is_answered_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = write_job(tmp_path / "court", HEAD + "    outline: o.geojson\n")
    feature = f'{{"type":"Feature","properties":{{"name":"a"}},"geometry":{SHAPE}}}'
    (job / "o.geojson").write_text(f'{{"type":"FeatureCollection","features":[{feature}]}}', encoding="utf-8")
    begun = time.process_time()
    assert main(["examine", str(job)]) == 1
    assert time.process_time() - begun < 1
    assert "More than 20,000 places in one line or ring; leave some out." in capsys.readouterr().out
