"""The pages of the guide, in the language of what people read where it has them."""

from __future__ import annotations

from gradecheck.catalogue import language


def guide_text(page: str) -> str:
    """The text of that page, by the name of its file."""
    from importlib.resources import files

    english = files("gradecheck") / "guide"
    own = english / language() / f"{page}.md"
    return (own if own.is_file() else english / f"{page}.md").read_text(encoding="utf-8")
