"""A file from an office is refused when it is looked at where its points would not fit into one list."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.actions import Refusal
from gradecheck.exchange.answers import ImportAnswers
from gradecheck.files.imports import found_lines, looked_at, write_list
from tests.thorough import every

ROW = "{n},100{n:05}.125,200{n:05}.250,112.{n:05}"
"""A point of 36 letters as it is written with a letter before its number."""


def sent(tmp_path: Path, heading: str, points: int) -> Path:
    path = tmp_path / "sent.csv"
    path.write_text("\n".join([heading, *(ROW.format(n=n) for n in range(10_000, 10_000 + points))]), "utf-8")
    return path


@pytest.mark.parametrize("heading", every(3, ["", "Pt,N (m),E (m),Z (m)", "Stn,Rechts,Hoch,OK"]))
def test_too_many_points_are_refused_before_anything_is_answered(tmp_path: Path, heading: str) -> None:
    path = sent(tmp_path, heading, 32_000)
    with pytest.raises(Refusal, match=r"The file has 32,000 points, .* about 2\d,\d00 of these fit. Divide the file"):
        looked_at(path, ImportAnswers(), tmp_path / "list.csv")


@pytest.mark.thorough
def test_as_many_as_are_said_to_fit_are_written(tmp_path: Path) -> None:
    answers, target = ImportAnswers(units="m", order="PNEZ", prefix="P"), tmp_path / "list.csv"
    with pytest.raises(Refusal) as wrong:
        looked_at(sent(tmp_path, "", 32_000), answers, target)
    fit = int(str(wrong.value).partition("about ")[2].partition(" ")[0].replace(",", ""))
    looked = looked_at(sent(tmp_path, "", fit), answers, target)
    assert write_list(looked, target) == [target]
    assert 950_000 < target.stat().st_size <= 1_000_000


def test_empty_cells_at_the_end_of_a_row_are_not_shown(tmp_path: Path) -> None:
    path = tmp_path / "sent.csv"
    path.write_text("Pt,N (m),E (m),Z (m),,,\nA1,1,2,3,,,\n", "utf-8")
    samples = looked_at(path, ImportAnswers(), tmp_path / "list.csv").samples
    assert samples == ["columns: 1 Pt | 2 N (m) | 3 E (m) | 4 Z (m)", "line 2: A1 | 1 | 2 | 3"]


def test_what_lies_on_a_layer_is_counted_in_words(tmp_path: Path) -> None:
    path = tmp_path / "sent.geojson"
    ring = '{"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}'
    points = '{"type": "MultiPoint", "coordinates": [[0, 0], [1, 1]]}'
    shapes = ", ".join(f'{{"type": "Feature", "properties": {{}}, "geometry": {each}}}' for each in (ring, points))
    path.write_text(f'{{"type": "FeatureCollection", "features": [{shapes}]}}', "utf-8")
    told = found_lines(looked_at(path, ImportAnswers(), tmp_path / "list.csv"), samples=False)
    assert told[1] == "  “”: 2 points, 1 closed line"
