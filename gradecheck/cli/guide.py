"""The verbs `guide` and `schema`: what the program knows of itself, a page for each topic, and of the job file."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, with_keys
from gradecheck.cli.options import Options, Reply, flag, named, output_option, verb
from gradecheck.files.whole_files import write_whole
from gradecheck.plan.problems import suggestion
from gradecheck.report.guide import guide_text
from gradecheck.system import keymap
from gradecheck.system.settings import read_settings

TOPICS = {
    "moving": _("when the laser moves: turning points, setups, rechecks, doubt"),
    "evening": _("a changed plan, points made on site, the day and its report"),
    "keys": _("every key on Check, and colors"),
    "typing": _("how a length is typed"),
    "squaring": _("a corner square to a building, 3-4-5, chalk lines"),
    "office": _("jobs of many crews on a PostgreSQL server, and what that proves"),
    "commands": _("every command with its options"),
    "job-file": _("every key of the job file, by examples"),
    "files": _("what lies next to the job file, and what verify proves"),
}
"""The pages, each a text of its own in `gradecheck/guide`."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GuideOptions(Options):
    topic: str | None = named("[TOPIC]", None, type=str.strip)
    man: bool = flag("--man", _("all commands as a manual page, for man"))


@verb(GuideOptions, apart=(("man", "topic"),))
def guide(options: GuideOptions) -> Reply:
    """The page of that topic; without one what there is."""
    if options.man:
        from gradecheck.cli.man import manual  # it needs all verbs

        return Reply(lambda: {"topic": "man", "text": manual()}, text=manual())
    if options.topic is None:
        return Reply(
            {"topics": TOPICS},
            [_("gradecheck guide {name:<9} {about}", name=name, about=about) for name, about in TOPICS.items()],
        )
    topic = options.topic.casefold()
    keymap.use(read_settings().keys)
    if topic not in TOPICS:
        there = _("there are {topics}", topics=", ".join(TOPICS))
        raise Refusal(
            _(
                "There is no page “{topic}”; {there}.{meant}",
                topic=options.topic,
                there=there,
                meant=suggestion(options.topic, TOPICS),
            )
        )
    return Reply({"topic": topic, "text": page(topic)}, text=f"{page(topic)}\n")


@dataclass(frozen=True, kw_only=True, slots=True)
class SchemaOptions(Options):
    output: Path | None = output_option("FILE", _("write it to FILE, a .json"))
    json_output: bool = flag("--json-output", _("instead that of all answers with --json, with its version"))


@verb(SchemaOptions)
def schema(options: SchemaOptions) -> Reply:
    """The JSON Schema of the job file, or of the answers in JSON, printed or written into a file of its own."""
    schema = _schema(answers=options.json_output)
    text, path = json.dumps(schema, indent=1, ensure_ascii=False) + "\n", options.output
    if path is None:
        return Reply({"schema": schema, "written": None}, text=text)
    if path.suffix.casefold() != ".json":  # nothing of a job ends so
        raise Refusal(_("A schema is written to a file that ends in .json; {name} does not.", name=path.name))
    write_whole(path.parent, {path.name: text.encode()})
    return Reply({"schema": schema, "written": str(path)}, [_("Written to {path}.", path=path)], saved=True)


def _schema(*, answers: bool) -> dict[str, Any]:
    if answers:
        from gradecheck.cli.answer_schema import answers_schema

        return answers_schema()
    from gradecheck.plan.schema import job_schema  # the models take pydantic, which no page needs

    return job_schema()


def page(topic: str) -> str:
    """The text of that page, with the keys as they are now; that of the job file with every key of it behind."""
    text = with_keys(guide_text(topic).rstrip())
    return f"{text}\n\n{_every_key()}" if topic == "job-file" else text


def _every_key() -> str:
    """Every key with an example of its value and what it is for, by the places where they stand."""
    from gradecheck.plan.keys import sections  # the models take pydantic, which no other page needs

    lines = ["## Every key"]
    for place, keys in sections():
        lines += ["", f"{place}:" if place else _("At the top:")]
        for key, says, example in keys:
            written = f"  {key}: {example}"
            if len(written) > _WIDE:
                lines.append(written)
                written = ""
            lines.append(f"{written:<{_WIDE}}  # {says}")
    return "\n".join(lines)


_WIDE = 44
"""Columns that a key with its example has, before what it is for."""
