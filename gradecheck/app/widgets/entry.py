"""The box a reading is typed into: every key takes effect in the order in which it was pressed."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from textual import events
from textual.message import Message
from textual.widgets import Input
from textual.widgets.input import Selection

from gradecheck.app.bindings import own
from gradecheck.app.plain import clean

# Keys that edit the line. Input has them as bindings, which run later than printable keys: in a burst the
# digits behind an Enter would join the reading before it.
_EDITING = {
    "backspace": "delete_left",
    "delete": "delete_right",
    "left": "cursor_left",
    "right": "cursor_right",
    "home": "home",
    "end": "end",
    "ctrl+u": "delete_left_all",
}


_EDITS = frozenset("-/ '\"")
"""What edits a refused figure; any other character begins another in its place."""
_HALF = ("-", "/", " ", ".", ",", "+")
"""How a figure ends that is only half."""

LONGEST = 200
"""Characters in the box; a paste of more is a mistake, and no part of it is taken."""


class EntryBox(Input):
    """One line of typing. Enter empties it and sends the text; the screen's own keys wait their turn behind it."""

    class Committed(Message):
        """Enter was pressed behind this text; `turn` counts the times.

        `seen` says whether what the Enter before did was on the screen by then.
        """

        def __init__(self, entry: EntryBox, text: str, turn: int, *, seen: bool) -> None:
            super().__init__()
            self.entry = entry
            self.text = text
            self.turn = turn
            self.seen = seen

        @property
        def control(self) -> EntryBox:
            """The entry, so that `on` can select it."""
            return self.entry

    class Pressed(Message):
        """A key that the screen has an action for was pressed; everything typed before it has been sent."""

        def __init__(self, key: str) -> None:
            super().__init__()
            self.key = key

    class Dropped(Message):
        """Escape was pressed behind this text, and it is gone; what is typed now begins anew."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Replaced(Message):
        """A figure was begun in place of this refused text, which is gone."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Flooded(Message):
        """More than so many characters came at once behind what was typed so far, and were dropped."""

        def __init__(self, most: int) -> None:
            super().__init__()
            self.most = most

    class Answered(Message):
        """What the key before it did is done, where the screen stayed."""

    class Full(Message):
        """More was typed or pasted than the box holds; none of it was taken."""

    def __init__(self, *placeholders: str, placeholder: str = "", id: str | None = None) -> None:
        super().__init__(placeholder=placeholder, id=id, compact=True, select_on_focus=False, max_length=LONGEST)
        self.wanted(*placeholders)
        self.turn = 0
        self._seen = 0
        self._held = ""

    def wanted(self, *texts: str) -> None:
        """What the box is for, the longest text first: the first that has room stands in it, of the last what has."""
        self._wanted = texts
        self._fit()

    def on_resize(self) -> None:
        """There is more room now, or less."""
        self._fit()

    def _fit(self) -> None:
        if self._wanted:
            self.placeholder = fitting(self._wanted, self.content_size.width)

    @property
    def being_typed(self) -> str:
        """The text in the box, unless it is one that was refused and came back."""
        return "" if self.value == self._held else self.value

    async def on_key(self, event: events.Key) -> None:
        """Takes Enter, the editing keys and the screen's keys at once instead of as bindings."""
        if event.key == "enter":
            self._take(event)
            text = self._empty()
            self.turn += 1
            # Straight to the screen: sent to itself first, it would stand behind keys already waiting here.
            seen = self._seen == self.turn - 1
            self.screen.post_message(self.Committed(self, text, self.turn, seen=seen))
            self._held = ""
        elif (editing := _EDITING.get(event.key)) is not None:
            self._take(event)
            self._held = ""
            getattr(self, f"action_{editing}")()
        elif event.is_printable:
            self._mind_held(event.character or "")
        elif event.key == "escape" and self.value:
            self._take(event)
            self.screen.post_message(self.Dropped(self.drop()))
        elif event.key in own(self.screen):
            self._take(event)
            self.screen.post_message(self.Pressed(event.key))

    def _mind_held(self, character: str) -> None:
        """Another figure begun takes the place of one refused; a sign edits it, and half a one is gone on with."""
        if self._held and character not in _EDITS and self.value == self._held and not self._held.endswith(_HALF):
            self.screen.post_message(self.Replaced(self.drop()))
        self._held = ""

    def put(self, text: str, *, whole: bool = False) -> None:
        """As if it was typed now; `whole` where Enter was pressed behind it, and the next digit begins another."""
        if text:
            self._mind_held(text[0])
            self.insert_text_at_cursor(text)
            self._held = self.value if whole else ""

    def on_paste(self, event: events.Paste) -> None:
        """Inserts the first line of what was pasted, with nothing in it that a terminal would obey."""
        self._take(event)
        if len(event.text) > LONGEST:
            self.restricted()
        elif lines := event.text.splitlines():
            self.insert_text_at_cursor(clean(lines[0]))

    def restricted(self) -> None:
        """What was typed or pasted has no room in the box."""
        self.screen.post_message(self.Full())

    def _empty(self) -> str:
        """Empties the box and returns what was in it; it is drawn together with the answer, in one picture."""
        text = self.value
        self.set_reactive(Input.value, "")
        self.set_reactive(Input.selection, Selection.cursor(0))
        return text

    def draw(self, turn: int) -> None:
        """Draws the box as it is now, once what was entered that time has been answered."""
        self.mutate_reactive(Input.value)
        self.call_after_refresh(self._has_seen, turn)

    def _has_seen(self, turn: int) -> None:
        self._seen = turn

    @staticmethod
    def _take(event: events.Event) -> None:
        event.stop()
        event.prevent_default()  # Input's own handler would take it a second time

    def drop(self) -> str:
        """Empties the box and returns what was in it."""
        dropped, self.value, self._held = self.value, "", ""
        return dropped

    def put_back(self, text: str) -> bool:
        """Returns refused text to the person who typed it, where nothing was typed since; whether it did."""
        if self.value:
            return False
        self.value = self._held = text
        self.cursor_position = len(self.value)
        return True


def fitting(texts: Sequence[str], room: int) -> str:
    """The first text that has room; where none has, the last without the parts behind those commas that have none."""
    fits = next((text for text in texts if cell_len(text) <= room), texts[-1])
    while room > 0 and cell_len(fits) > room and ", " in fits:
        fits = fits.rpartition(", ")[0]
    return fits
