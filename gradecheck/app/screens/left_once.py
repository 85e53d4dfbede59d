"""What every screen shares that is gone to and left: it is left once, however often it is told to."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual.await_complete import AwaitComplete
from textual.css.query import NoMatches
from textual.dom import NoScreen
from textual.message import Message
from textual.screen import Screen, ScreenResultType
from textual.widget import MountError

from gradecheck.app.bindings import as_chosen

if TYPE_CHECKING:
    from gradecheck.app.app import GradeApp


class LeftOnceScreen(Screen[ScreenResultType]):
    """Textual takes off whichever screen is up; in a burst that was the one below, and the app ended."""

    GUIDE: ClassVar[str] = "keys"
    """The page of the guide that tells of this screen."""
    seen = False
    """Whether it is drawn, since it was last gone to; until then keys are held back."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._bindings = as_chosen(self._bindings)

    def on_screen_suspend(self) -> None:
        """Another screen is up."""
        self.seen = False

    def on_screen_resume(self) -> None:
        """This screen is up; once it is drawn, keys are meant for it: those that stand in line by then are not."""
        self.call_after_refresh(self.host.call_later, self.host.see, self)

    @property
    def host(self) -> GradeApp:
        """The app: the open job, the one writer, and the way to other jobs."""
        return cast("GradeApp", self.app)

    def action_copy_text(self) -> None:
        """Ctrl+C: copies what is marked, where something is; else it is pressed to leave, and how is said."""
        if self.get_selected_text() is None:
            self.host.action_help_quit()
        else:
            super().action_copy_text()

    @property
    def is_left(self) -> bool:
        """Whether nobody can see it any more, or the app is ending; its widgets may be gone before it is."""
        ending = self.app.return_code is not None or not self.app.is_running
        return ending or self not in self.app.screen_stack

    async def _dispatch_message(self, message: Message) -> None:
        with self._unseen():
            await super()._dispatch_message(message)

    async def _invoke_and_clear_callbacks(self) -> None:
        if self.is_mounted:  # until then they wait: what they show has no widgets yet
            with self._unseen():
                await super()._invoke_and_clear_callbacks()

    @contextlib.contextmanager
    def _unseen(self) -> Iterator[None]:
        """What is still to be shown on a screen that is left needs no widget any more."""
        try:
            yield
        except (NoMatches, NoScreen, MountError):
            if not self.is_left:
                raise

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Leaves this screen, and the palette with it where a key behind the one that leaves has opened it."""
        stack = self.app.screen_stack
        if self not in stack or any(not above.is_modal for above in stack[stack.index(self) + 1 :]):
            return AwaitComplete()  # it was left already
        while self.app.screen is not self:
            self.app.pop_screen()
        return super().dismiss(result)
