"""The box a reading is typed into: every key takes effect in the order in which it was pressed."""

from __future__ import annotations

from weakref import WeakKeyDictionary

from textual import events
from textual.app import App
from textual.message import Message
from textual.strip import Strip
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
    "ctrl+w": "delete_left_word",
}


_EDITS = frozenset("-/ '\"")
"""What edits a refused figure; any other character begins another in its place."""
_HALF = ("-", "/", " ", ".", ",", "+")
"""How a figure ends that is only half."""

LONGEST = 200
"""Characters in the box; a paste of more is a mistake, and no part of it is taken."""

PAUSE = 0.5
"""Seconds; whoever keys a figure does not stop so long within it."""
_LAST_FIGURE_KEY: WeakKeyDictionary[App[object], float] = WeakKeyDictionary()
"""When a figure's key was pressed last, on whatever screen of the app."""


class Entry(Input):
    """One line of typing. Enter empties it and sends the text; the screen's own keys wait their turn behind it."""

    class Committed(Message):
        """Enter was pressed behind this text; `turn` counts the times.

        `seen` says whether what the Enter before did was on the screen by then.
        """

        def __init__(self, entry: Entry, text: str, turn: int, *, seen: bool) -> None:
            super().__init__()
            self.entry = entry
            self.text = text
            self.turn = turn
            self.seen = seen

        @property
        def control(self) -> Entry:
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
        """A figure was begun where this refused text stood, which is gone."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Flooded(Message):
        """More than so many characters came at once behind what was typed so far, and were dropped."""

        def __init__(self, most: int) -> None:
            super().__init__()
            self.most = most

    class Full(Message):
        """More was typed or pasted than the box holds; none of it was taken."""

    def __init__(self, *, placeholder: str = "", id: str | None = None) -> None:
        super().__init__(placeholder=placeholder, id=id, compact=True, select_on_focus=False, max_length=LONGEST)
        self.turn = 0
        self._seen = 0
        self._drawn: float | None = None
        self._held = ""
        self._begun_unseen = False
        self._taken_any = False
        self._before_key: str | None = None

    def on_mount(self) -> None:
        """In a window too small for it the entry is never drawn; there the first picture of all counts."""
        self.call_after_refresh(self._draws)

    def render_line(self, y: int) -> Strip:
        """Draws the line."""
        self._draws()
        return super().render_line(y)

    def _draws(self) -> None:
        """The first time counts as the moment from which keys are meant for this screen."""
        if self._drawn is None:
            self._drawn = Message().time  # by the clock that the keys are stamped with

    async def on_key(self, event: events.Key) -> None:
        """Takes Enter, the editing keys and the screen's keys at once instead of as bindings."""
        if self._was_begun_unseen(event):
            self._take(event)
        elif event.key == "enter":
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
        elif self._held and event.is_printable and event.character not in _EDITS:
            # What was refused and stands in the box as it was; only half a figure is gone on with.
            if self.value == self._held and not self._held.endswith(_HALF):
                self.screen.post_message(self.Replaced(self.drop()))
            self._held = ""
        elif self._held and event.is_printable:
            self._held = ""
        elif event.key == "escape" and self.value:
            self._take(event)
            self.screen.post_message(self.Dropped(self.drop()))
        elif event.key in own(self.screen):
            self._take(event)
            self._before_key = self.value
            self.screen.post_message(self.Pressed(event.key))

    def _was_begun_unseen(self, event: events.Key) -> bool:
        """Whether the key was pressed at a screen nobody had seen, or goes on with a figure begun there.

        The half of a figure that comes late must not be taken for a whole one: all of it is dropped, up to its
        Enter or a pause.
        """
        last = _LAST_FIGURE_KEY.get(self.app, 0.0)
        if event.key == "enter":
            _LAST_FIGURE_KEY.pop(self.app, None)
        elif event.is_printable:
            _LAST_FIGURE_KEY[self.app] = event.time
        if self._drawn is None or event.time < self._drawn:
            self._begun_unseen = event.key != "enter" and (event.is_printable or self._begun_unseen)
            return True
        if last and last < self._drawn and event.time - last < PAUSE and not self._taken_any:
            self._begun_unseen = True
        if self._begun_unseen and event.time - last < PAUSE:
            self._begun_unseen = event.key != "enter"
            return True
        self._begun_unseen = False
        self._taken_any = True
        return False

    def stay(self) -> None:
        """The key led to no other screen: what was typed behind it was meant for this one."""
        self._before_key = None

    def forget_since_key(self) -> None:
        """Drops what was typed behind a key that led to another screen: it was meant for that one."""
        if self._before_key is not None and self.value != self._before_key:
            self.value = self._before_key
        self._before_key = None

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
