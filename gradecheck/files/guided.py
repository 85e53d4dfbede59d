"""A guided start: the questions of a new job, the plan so far and what is found in it.

The answers of a job that nobody finished yet are kept beside the settings until they are taken up again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.catalogue import _
from gradecheck.files.job_file import reader
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.places import Folder, make_folders, remove, write
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.starter import NotPossibleError
from gradecheck.system import settings


class Guided:
    """One new job in a folder of jobs, asked for on the screen or at the terminal.

    With a `name` the job's folder is known, and its answers are kept by that name; `given` are answers that stand
    before anything is asked. What was left half way is taken up again.
    """

    def __init__(self, folder: Path, name: str = "", given: Mapping[str, str] | None = None) -> None:
        self.folder = folder
        self._name = name
        kept = answers_begun(self._place)
        self.taken_up = len(kept)
        self.asked = GuidedAnswers(self._refuses, kept | dict(given or {}), name)
        self.plan: Plan | None = None
        self.found: tuple[str, ...] = ()
        try:
            self._read()
        except PlanProblemsError as wrong:  # what was kept by another version
            self.found = (wrong.problems[0].says,)

    @property
    def _place(self) -> Path:
        return self.folder / self._name if self._name else self.folder

    @property
    def job(self) -> Path:
        """The folder of the job that all questions are answered for."""
        return self.folder / self.asked.build.folder

    def _refuses(self, name: str) -> str | None:
        return cannot_begin(self.folder, name)

    def answer(self, text: str) -> None:
        """Takes an answer and keeps it. Raises Refusal where it can't be taken or built; then nothing is changed."""
        asked = self.asked
        before, key = dict(asked.typed), asked.key
        try:
            asked.answer(text)
            self._read()
        except NotPossibleError as wrong:
            self._put_back(before, key)
            raise Refusal(str(wrong)) from wrong
        except PlanProblemsError as wrong:
            self._put_back(before, key)
            raise Refusal(_("This can't be built: {says}", says=wrong.problems[0].says)) from wrong
        keep_begun(self._place, asked.typed)

    def forget(self) -> None:
        """Begins anew; all answers are gone."""
        forget_begun(self._place)
        self.asked = GuidedAnswers(self._refuses, folder=self._name)
        self._read()

    def write(self) -> Path:
        """Writes the job file and returns the job's folder. Raises Refusal; then the answers stay."""
        job = begin_job(self.folder, self.asked.build.folder, self.asked.build.text())
        forget_begun(self._place)
        return job

    def _put_back(self, before: dict[str, str], key: str) -> None:
        self.asked = GuidedAnswers(self._refuses, before, self._name)
        self.asked.go_to(key)
        self._read()

    def _read(self) -> None:
        """The plan as it would be now, with its findings. Raises `PlanProblemsError`."""
        text = self.asked.preview().text()
        self.plan = reader(self.folder)(text, {}) if text else None
        self.found = _found_in(self.plan) if self.plan is not None else ()


def _found_in(plan: Plan) -> tuple[str, ...]:
    from gradecheck.findings.every import findings
    from gradecheck.findings.finding import Severity
    from gradecheck.report.findings import finding_line

    found = [each for each in findings(plan) if each.severity is not Severity.REMINDER]
    return tuple(finding_line(plan, each).partition(": ")[2] for each in found)


# -- what is kept of it until it is made


LARGEST = 200_000
"""Bytes of all answers."""
LONGEST = 400
"""Letters of one answer."""


def answers_begun(folder: Path) -> dict[str, str]:
    """The answers for a new job in that folder of jobs; none where nobody began one, or what was kept is spoilt."""
    path = _path(folder)
    with contextlib.suppress(OSError, ValueError, RecursionError):
        with Folder(path.parent) as place, place.read(path.name) as file:
            kept = json.loads(file.read(LARGEST))
        if isinstance(kept, dict):
            texts = {key: each for key, each in kept.items() if isinstance(each, str)}
            if all(max(len(key), len(each)) <= LONGEST for key, each in texts.items()):
                return texts
    return {}


def keep_begun(folder: Path, typed: Mapping[str, str]) -> None:
    """Keeps the answers; where they can't be kept, the next start asks anew."""
    path = _path(folder)
    with contextlib.suppress(OSError):
        make_folders(path.parent)
        write(path, json.dumps(dict(typed)).encode(), durable=False)


def forget_begun(folder: Path) -> None:
    """Nothing is taken up again."""
    with contextlib.suppress(OSError):
        remove(_path(folder))


def _path(folder: Path) -> Path:
    name = hashlib.sha256(os.path.realpath(folder).encode("utf-8", "surrogateescape")).hexdigest()[:32]
    return settings.folder() / "begun" / name
