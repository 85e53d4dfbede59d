"""A short day in a terminal in Spanish: verdicts, recheck, log, evening and report; the same log as in English."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from gradecheck.session.session import Session
from tests.pty.site import YARD, make_ready
from tests.pty.terminal import Terminal, environment, gradecheck_command

RECHECK, LOG, DAY, ESCAPE, LEAVE = "\x1b[15~", "\x1b[17~", "\x1b[20~", "\x1b", "\x1b[24~"
STEPS = (
    ("", "el estadal debe marcar 51", "the rod should read 51"),
    ("51\r", "a nivel", "on grade"),
    ("51-1/4\r", "corte 1/4", "cut 1/4"),
    ("51-3/4\r", "relleno 1/4", "fill 1/4"),
    (LOG, "bitácora", "log"),
    (ESCAPE, "el estadal debe marcar", "the rod should read"),
    (RECHECK, "verifi", "recheck"),
    (ESCAPE, "el estadal debe marcar", "the rod should read"),
    (DAY, "Por hacer:", "Still open:"),
)
"""Keys, and what each screen then says in Spanish and in English."""


def walked(folder: Path, language: str) -> list[str]:
    """What was typed into the job, in the order of its log."""
    folder.mkdir()
    (folder / "job.yaml").write_text(f"job: Sallow Court\n{YARD}", encoding="utf-8")
    make_ready(folder, "DOOR")
    spoken = {"GRADECHECK_LANGUAGE": language}
    with Terminal(gradecheck_command("open", str(folder)), changes=spoken) as terminal:
        for keys, spanish, english in STEPS:
            terminal.send(keys.encode())
            says = (spanish if language == "es" else english).casefold()
            terminal.wait_for(lambda screen, says=says: says in " ".join(screen.display).casefold())  # type: ignore[misc]
            terminal.settle(0.2)
        terminal.send(LEAVE.encode())
        assert terminal.wait() == 0
    paper = folder / "day.html"
    command = gradecheck_command("report", str(folder), "-o", str(paper))
    subprocess.run(command, env=environment(spoken), capture_output=True, check=True)
    said = paper.read_text(encoding="utf-8")
    assert f'<html lang="{language}">' in said
    assert ("Reporte diario" in said, "hablante nativo" in said) == (language == "es",) * 2
    session = Session(folder)
    try:
        typed = [f"{entry.typed} {entry.fact}" for entry in session.journal.entries() if entry.typed]
        return [re.sub(r"setup='[^']*'", "", each) for each in typed]  # its id is drawn anew in each job
    finally:
        session.close()


@pytest.mark.thorough
def test_a_day_walked_in_spanish(tmp_path: Path) -> None:
    spanish, english = (walked(tmp_path / language, language) for language in ("es", "en"))
    assert spanish == english
    assert len(spanish) >= 4
