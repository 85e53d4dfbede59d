"""The labels of stakes, as `plan` prints them or writes them as files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.actions.entered import length_in
from gradecheck.catalogue import _
from gradecheck.cli.options import Reply
from gradecheck.cli.shared import length_json, meant_stage
from gradecheck.exchange.stakes import stakes_table
from gradecheck.exchange.table import csv_text, xlsx_bytes
from gradecheck.files.exports import ending_of
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.model import Area, Plan
from gradecheck.report.setting_out import StakeLabel, ground_labels, stake_labels

ENDINGS = (".pdf", ".html", ".txt", ".csv", ".xlsx")
"""What the labels of stakes are written as."""


def above_finish(plan: Plan, typed: str | None) -> Length:
    """How far above finish the stakes' tops stand, at the finish where nothing was given. Raises Refusal."""
    above = ZERO if typed is None else length_in(typed, plan.notation.units)
    if above < ZERO:
        raise Refusal(_("The tops of stakes stand above the finish; write how far, without a minus."))
    return above


def labels_of(plan: Plan, areas: Sequence[Area], above: Length | None, typed: str | None) -> list[StakeLabel]:
    """The labels of these areas, at the stage that was named, or at all of each; without `above` from the ground.

    Raises Refusal.
    """
    stage = None if typed is None else meant_stage(areas, typed)
    if above is None:
        labels = [
            each for area in areas if stage in (None, *area.stages) for each in ground_labels(plan, area, stage)
        ]
        if not labels:
            raise Refusal(
                _("The plan does not say how existing ground lies here; give “existing ground:” to an area.")
            )
        return labels
    return [
        label for area in areas if stage in (None, *area.stages) for label in stake_labels(plan, area, above, stage)
    ]


def label_lines(plan: Plan, labels: Sequence[StakeLabel]) -> Iterator[str]:
    """Each label as one line."""
    for label in labels:
        words = "; ".join(says for _stage, _wanted, says in label.stages)
        yield f"{label.area:<16} {label.point:<8} {label.start}: {words}"


def labels_reply(plan: Plan, labels: Sequence[StakeLabel]) -> Reply:
    """The labels as an answer."""
    return Reply(lambda: [_json(plan, label) for label in labels], label_lines(plan, labels))


def labels_file(plan: Plan, labels: Sequence[StakeLabel], path: Path, day: str) -> tuple[bytes, bytes]:
    """The labels as the file's ending says, and how such a file begins. Raises Refusal."""
    ending = ending_of(path, ENDINGS)
    match ending:
        case ".pdf":
            from gradecheck.report.pdf import labels_pdf

            return labels_pdf(plan, labels, day), b"%PDF-"
        case ".html":
            from gradecheck.report.page import labels_page

            content = labels_page(plan, labels, day).encode()
            return content, content.partition(b"<title>")[0]
        case ".txt":
            lines = [_("{job}: stakes", job=plan.job), *label_lines(plan, labels)]
            return "".join(f"{line}\n" for line in lines).encode(), f"{lines[0]}\n".encode()
        case ".csv":
            content = csv_text(stakes_table(plan, labels)).encode("utf-8-sig")
            return content, content.partition(b"\r\n")[0]
        case _:
            return xlsx_bytes(stakes_table(plan, labels)), b""


def _json(plan: Plan, label: StakeLabel) -> dict[str, object]:
    return {
        "area": label.area,
        "point": label.point,
        "stake": label.start,
        "top": length_json(label.at.height, plan.notation),
        "stages": [
            {"stage": stage, "down": length_json(label.at.above(wanted), plan.notation), "says": says}
            for stage, wanted, says in label.stages
        ],
    }
