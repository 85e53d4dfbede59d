"""What comes from the terminal faster than anyone keys is kept from the app: a document pasted by mistake."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from textual._xterm_parser import BRACKETED_PASTE_END, BRACKETED_PASTE_START, XTermParser
from textual.events import Key
from textual.keys import Keys
from textual.message import Message

MOST_AT_ONCE = 400
"""Characters without an Enter and without a pause; no reading, name or note is so long."""
MOST_IN_A_BURST = 3_000
"""Keys without a pause; two hundred readings sent at once are some 1,600."""
CLEARS = "\x15"
"""Ctrl+U empties the box: the beginning of what was dropped must not become part of what is typed next."""


ESCAPE = "\x1b"
_INTRODUCERS = frozenset("[]OPNX^_\\")
"""What stands behind Escape where the terminal itself says something; alone they are keys all the same."""


class TerminalFlooded(Message):
    """More came at once than anybody keys, and the rest of it was dropped."""


class Gate:
    """Lets pass what a person or a device may key, and drops the rest of a flood."""

    def __init__(self) -> None:
        self._row = self._burst = self._pasted = 0
        self._pasting = self._dropping = self._in_sequence = False
        self._half = ""
        """What may be the first part of the sequence that begins or ends a paste."""
        self._escaped = False
        """Whether the Escape that the half begins with has passed: alone it is a key, and waits for nothing."""

    def pause(self) -> None:
        """Nothing has come for a moment: what comes now is typed anew."""
        self._row = self._burst = 0
        self._dropping = False

    def let_pass(self, data: str) -> tuple[str, bool]:
        """What may pass of the characters that came, and whether a flood begins in them."""
        was_dropping = self._dropping
        passed: list[str] = []
        data, self._half = self._half + data, ""
        while data:
            mark = BRACKETED_PASTE_END if self._pasting else BRACKETED_PASTE_START
            piece, found, data = data.partition(mark)
            half = next((n for n in range(len(mark) - 1, 0, -1) if not found and piece.endswith(mark[:n])), 0)
            piece, self._half = piece[: len(piece) - half], piece[len(piece) - half :]
            shown = found
            if self._escaped and (piece or found):
                piece, shown = piece[1:], found if piece else found[1:]
                self._escaped = False
            passed += [self._of_a_paste(piece) if self._pasting else self._of_keys(piece), shown]
            if found:
                self._pasting = not self._pasting
                self._pasted = 0
        if self._half == ESCAPE and not self._escaped and not self._pasting and not self._dropping:
            passed.append(ESCAPE)
            self._escaped = True
        return "".join(passed), self._dropping and not was_dropping

    def _of_a_paste(self, piece: str) -> str:
        """Enough of it to be seen as too long by the box."""
        room = max(MOST_AT_ONCE - self._pasted, 0)
        self._pasted += len(piece)
        return piece[:room]

    def _of_keys(self, piece: str) -> str:
        if self._dropping:
            return ""
        for index, character in enumerate(piece):
            self._burst += not self._in_sequence
            if character == "\r":
                self._row = 0
            elif character == ESCAPE or self._in_sequence:
                # A key that is held down repeats without a pause, and an arrow fills no box.
                self._in_sequence = not (character.isalpha() or character == "~")
            else:
                self._row += 1
            if self._row > MOST_AT_ONCE or self._burst > MOST_IN_A_BURST:
                self._dropping = True
                return piece[:index] + CLEARS
        return piece


class GatedParser(XTermParser):
    """Textual's reader of the terminal, behind the gate."""

    def __init__(self, debug: bool = False) -> None:
        super().__init__(debug)
        self._gate = Gate()
        self._silent = False

    def feed(self, data: str) -> Iterable[Message]:
        """The events in the characters that came; none is the end of the terminal."""
        self._silent = False
        passed, flooded = self._gate.let_pass(data) if data else ("", False)
        if passed or not data:
            yield from super().feed(passed)
        if flooded:
            yield TerminalFlooded()

    def _parse_extended_key(self, sequence: str) -> list[Key] | None:  # type: ignore[override]  # cached there
        """The keys in a sequence of the newer kind; one whose numbers can't be read is a key that does nothing."""
        try:
            # Past its cache, which keeps each key for good, and with it the app that got it.
            return XTermParser._parse_extended_key.__wrapped__(self, sequence)
        except (ValueError, OverflowError):
            # No key at all would have its digits typed into the box.
            return [Key(Keys.Ignore, None)]

    def _sequence_to_key_events(self, sequence: str, alt: bool = False) -> Iterable[Key]:
        """A character right behind Escape is both keys: terminals send them together when they come fast."""
        behind = sequence if alt else sequence[1:] if sequence[:1] == ESCAPE else ""
        if len(behind) == 1 and behind.isprintable() and (alt or behind not in _INTRODUCERS):
            yield Key("escape", ESCAPE)
            sequence, alt = behind, False
        yield from super()._sequence_to_key_events(sequence, alt)

    def tick(self) -> Iterable[Message]:
        """Called after every look for input; twice with nothing between is a tenth of a second of silence."""
        if self._silent:
            self._gate.pause()
        self._silent = True
        return super().tick()


def put_up_gate() -> None:
    """Has the drivers that are loaded read through the gate; Textual has no place for it between the two."""
    for name in ("textual.drivers.linux_driver", "textual.drivers.win32"):
        if (driver := sys.modules.get(name)) is not None:
            driver.XTermParser = GatedParser  # type: ignore[attr-defined]
