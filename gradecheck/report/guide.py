"""The pages of the guide, in the language of what people read where it has them."""

from __future__ import annotations

from gradecheck.catalogue import language, not_reviewed


def guide_text(page: str) -> str:
    """The text of that page, by the name of its file; one that is not in English says that nobody reviewed it."""
    from importlib.resources import files

    english = files("gradecheck") / "guide"
    own = english / language() / f"{page}.md"
    if not own.is_file():
        return (english / f"{page}.md").read_text(encoding="utf-8")
    return f"{own.read_text(encoding='utf-8').rstrip()}\n\n{not_reviewed()}\n"
