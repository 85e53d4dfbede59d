"""What the program is measured against: a bare app of the same framework with the same kinds of widgets."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.widgets import DataTable, Digits, Footer, Header, Input

ROWS = 200


class BareApp(App[None]):
    """Enter puts what was typed into the large figures and into the next cell of the table."""

    CSS = "DataTable { height: 1fr; }"
    BINDINGS = [("f12", "quit", "Quit")]

    def __init__(self) -> None:
        super().__init__()
        self._entered = 0

    def compose(self) -> ComposeResult:
        """Header, table, figures, box, footer."""
        yield Header()
        yield DataTable[str]()
        yield Digits("0")
        yield Input(placeholder="rod reading")
        yield Footer()

    def on_mount(self) -> None:
        """Fills the table."""
        table = self.query_one(DataTable)
        table.can_focus = False
        for title in ("point", "wanted", "rod", "found"):
            table.add_column(title, width=10)
        for row in range(1, ROWS + 1):
            table.add_row(f"P{row:03}", f"-{row / 2:.2f}", "", "")
        self.query_one(Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Shows the value."""
        self.query_one(Digits).update(event.value)
        self.query_one(DataTable).update_cell_at((self._entered, 2), event.value)
        self._entered += 1
        event.input.clear()


def main() -> None:
    """Runs it."""
    BareApp().run(mouse=False)
