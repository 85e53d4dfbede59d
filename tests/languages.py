"""The files of the languages: the template of all sentences, each language's own, and what gettext reads of it.

They are in the form that gettext documents (https://www.gnu.org/software/gettext/manual/html_node/PO-Files.html, and
MO-Files.html beside it), so that any editor of translations opens them. Only the standard library is needed.
"""

from __future__ import annotations

import ast
import struct
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from gradecheck import catalogue
from gradecheck.catalogue import LOCALE
from tests.sentences import Entry

TEMPLATE = Path(LOCALE) / "gradecheck.pot"
SPANISH = Path(LOCALE) / "es" / "LC_MESSAGES" / "gradecheck.po"
REMARK = "What people read of gradecheck; `python -m tests.sentences --po` writes this anew, and the .mo."
NOT_REVIEWED = "Not reviewed by a native speaker of the trade."


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """That language within, for what is looked up there; texts that stand in classes and tables stay as they were."""
    translations = catalogue._translations
    before = vars(translations).copy()
    translations.speak(language)
    try:
        yield
    finally:
        vars(translations).update(before)


@dataclass(frozen=True, slots=True)
class Translated:
    """A sentence as a file of a language has it: one text, or one for each form of the plural."""

    texts: tuple[str, ...]
    fuzzy: bool = False

    @property
    def done(self) -> bool:
        return not self.fuzzy and all(self.texts)


def header(language: str) -> str:
    """What stands before the sentences, as gettext wants it."""
    return (
        "Project-Id-Version: gradecheck\n"
        f"Language: {language}\n"
        "MIME-Version: 1.0\n"
        "Content-Type: text/plain; charset=UTF-8\n"
        "Content-Transfer-Encoding: 8bit\n"
        "Plural-Forms: nplurals=2; plural=(n != 1);\n"
    )


def write_anew(entries: Mapping[Entry, list[str]]) -> None:
    """Writes the template, the Spanish with what it had, and the file that the program reads."""
    SPANISH.parent.mkdir(parents=True, exist_ok=True)
    empty = {each: Translated(("", "") if each.many else ("",)) for each in entries}
    had = read(SPANISH.read_text(encoding="utf-8")) if SPANISH.exists() else {}
    spanish = {each: had.get(each, blank) for each, blank in empty.items()}
    TEMPLATE.write_text(written(empty, entries, ""), encoding="utf-8", newline="\n")
    SPANISH.write_text(written(spanish, entries, "es"), encoding="utf-8", newline="\n")
    SPANISH.with_suffix(".mo").write_bytes(compiled(spanish, "es"))
    open_ones = [each.one for each, text in spanish.items() if not text.done]
    print(f"{len(entries)} sentences, {len(open_ones)} without Spanish", *open_ones, sep="\n  ")


# -- the file that people edit


def written(translated: Mapping[Entry, Translated], where: Mapping[Entry, list[str]], language: str) -> str:
    """The text of a template or of a language's file."""
    remarks = [REMARK, NOT_REVIEWED] if language else [REMARK]
    blocks = ["\n".join((*(f"# {each}" for each in remarks), 'msgid ""', 'msgstr ""', _lines(header(language))))]
    for entry, text in translated.items():
        lines = [f"#: {name}" for name in where[entry]]
        if text.fuzzy:
            lines.append("#, fuzzy")
        if entry.place:
            lines.append(f"msgctxt {_quoted(entry.place)}")
        lines.append(f"msgid {_quoted(entry.one)}")
        if entry.many:
            lines.append(f"msgid_plural {_quoted(entry.many)}")
            lines += [f"msgstr[{at}] {_quoted(each)}" for at, each in enumerate(text.texts)]
        else:
            lines.append(f"msgstr {_quoted(text.texts[0])}")
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


_ESCAPES = str.maketrans({"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"})


def _quoted(text: str) -> str:
    return f'"{text.translate(_ESCAPES)}"'


def _lines(text: str) -> str:
    return "\n".join(map(_quoted, text.splitlines(keepends=True)))


def read(text: str) -> dict[Entry, Translated]:
    """The sentences of a language's file, its header left out."""
    found = {}
    for block in _blocks(text):
        fields = {name: value for name, value in block.items() if name.startswith("msgstr")}
        entry = Entry(block["msgid"], block.get("msgid_plural", ""), block.get("msgctxt", ""))
        assert entry not in found, f"twice in the file: {entry}"
        if entry.one:
            found[entry] = Translated(tuple(fields.values()), "fuzzy" in block)
    return found


def _blocks(text: str) -> Iterator[dict[str, str]]:
    """The keywords of each entry with their texts, which may go on over lines; entries given up are passed over."""
    block: dict[str, str] = {}
    keyword = ""
    for line in text.splitlines():
        if line.startswith("#,") and "fuzzy" in line:
            block["fuzzy"] = ""
        elif line.startswith("msg"):
            keyword, _, rest = line.partition(" ")
            block[keyword] = ast.literal_eval(rest)
        elif line.startswith('"'):
            block[keyword] += ast.literal_eval(line)
        elif not line.strip() and "msgid" in block:
            yield block
            block = {}
    if "msgid" in block:
        yield block


# -- the file that the program reads


def compiled(translated: Mapping[Entry, Translated], language: str) -> bytes:
    """What gettext reads: the sentences that are done, sorted, so that the same ones are the same bytes."""
    pairs = {b"": header(language).encode()}
    for entry, text in translated.items():
        if text.done:
            key = "\0".join(filter(None, (entry.one, entry.many)))
            pairs[(f"{entry.place}\4{key}" if entry.place else key).encode()] = "\0".join(text.texts).encode()
    keys = sorted(pairs)
    begin, texts = 7 * 4 + 16 * len(keys), b""
    tables: list[int] = []
    for each in (*keys, *(pairs[key] for key in keys)):
        tables += [len(each), begin + len(texts)]
        texts += each + b"\0"
    head = (0x950412DE, 0, len(keys), 7 * 4, 7 * 4 + 8 * len(keys), 0, 0)
    return struct.pack(f"<{7 + len(tables)}I", *head, *tables) + texts
