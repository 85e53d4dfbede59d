"""The verb `join`: what other laptops recorded on the same job is taken in and kept as it was written there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.cli.options import OnJob, Reply, as_path, named, on_session
from gradecheck.report.joining import is_open, joined_json, joined_lines, taken_lines
from gradecheck.session.joining import others_in
from gradecheck.session.session import Session


@dataclass(frozen=True, kw_only=True, slots=True)
class JoinOptions(OnJob):
    others: list[Path] = named(
        "OTHER", type=as_path, nargs="+", help=_("the same job of another laptop: its folder, or its journal.db")
    )


@on_session(JoinOptions)
def join(session: Session, options: JoinOptions) -> Reply:
    """Takes in what other laptops recorded on this job; 1 while something waits or asks for an answer."""
    found = [(other, others_in(session, other)) for other in options.others]
    lines, new = [], 0
    for other, others in found:
        taken = session.take_in(others.rows, others.entries)
        new += taken
        lines += taken_lines(other, taken, len(others.rows), others.not_sound)
    unsound = [each for _, others in found for each in others.not_sound]
    content = {"taken in": new, "entries": session.seq, "not taken in": unsound}
    laptops = session.journal.joined
    if laptops is None:
        return Reply(content, lines, code=1 if unsound else 0, saved=new > 0)
    content |= joined_json(laptops)
    return Reply(
        content, [*lines, *joined_lines(laptops)], code=1 if unsound or is_open(laptops) else 0, saved=new > 0
    )
