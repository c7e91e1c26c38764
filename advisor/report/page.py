"""A page of text in two columns, label and words, wrapped to a width; colour comes last.

Every line is a list of (text, style) pieces. Colour goes through rich and only then is rich
imported; user text is never markup. The page knows nothing of reports.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from advisor.report.clean import cell_width, plain
from advisor.report.look import Look, typeset

__all__ = ["LABEL", "Page", "Piece", "wrapped"]

LABEL = 12  # columns of the label
MOST_NARROW = 20  # deep indents leave at least this
Piece = tuple[str, str]

STYLES = {  # legible on black and on white (contrast about 4.5 : 1 on both where 256 colours are)
    "": "",
    "heading": "bold",
    "strong": "bold",
    "error": "bold color(161)",
    "warning": "bold color(130)",
    "note": "color(31)",
    "asked": "color(31)",
    "neck": "bold color(130)",
}


@dataclass(slots=True)
class Page:
    """Lines of a report, filled from the top.

    Parameters
    ----------
    look : Look
        Width, drawing and colour.
    written : bool
        Whether units are written as people write them, where the stream can show it.
    """

    look: Look
    lines: list[list[Piece]] = field(default_factory=list)
    written: bool = False

    def text(self, words: str) -> str:
        """Return words as the page shows them."""
        return plain(typeset(words, drawn=self.look.drawn) if self.written else words)

    def blank(self) -> None:
        """Add an empty line, unless there is one or the page is empty."""
        if self.lines and self.lines[-1]:
            self.lines.append([])

    def row(self, *pieces: Piece) -> None:
        """Add one line as it is, without wrapping."""
        self.lines.append([(self.text(text), style) for text, style in pieces if text])

    def heading(self, text: str) -> None:
        """Add a blank line and a heading."""
        self.blank()
        for line in wrapped(self.text(text), self.look.width):
            self.row((line, "heading"))

    def entry(self, label: str, text: str, *, label_style: str = "", style: str = "") -> None:
        """Add a label and its words, wrapped beside it."""
        indent, label, text = LABEL, self.text(label), self.text(text)
        if cell_width(label) >= indent:
            self.row((label, label_style))
            label = ""
        lines = wrapped(text, self.look.width - indent) or [""]
        for number, line in enumerate(lines):
            head = label if number == 0 else ""
            self.row(*_labelled(head, indent, label_style), (line, style))

    def indented(self, text: str, depth: int, *, style: str = "") -> None:
        """Add wrapped text, two blanks in per depth, its further lines four more."""
        first, further = "  " * depth, "  " * depth + "    "
        width = self.look.width - len(further)
        for number, line in enumerate(wrapped(self.text(text), max(width, MOST_NARROW))):
            self.row((first if number == 0 else further, ""), (line, style))

    def render(self) -> str:
        """Return the page as one string, with a line end after every line."""
        if self.look.colours is None:
            return "".join(_joined(line) + "\n" for line in self.lines)
        return _coloured(self.lines, self.look.colours)


def _labelled(label: str, width: int, style: str) -> tuple[Piece, Piece]:
    return (label, style), (" " * (width - cell_width(label)), "")


def wrapped(text: str, width: int) -> list[str]:
    """Return `text` in lines of at most `width` columns; a longer word stays whole."""
    lines: list[str] = []
    line, used = "", 0
    for word in text.split():
        cells = cell_width(word)
        if line and used + 1 + cells > width:
            lines.append(line)
            line, used = "", 0
        line, used = (f"{line} {word}", used + 1 + cells) if line else (word, cells)
    return [*lines, line] if line else lines


def _joined(line: Iterable[Piece]) -> str:
    return "".join(text for text, _ in line).rstrip()


def _coloured(lines: Iterable[list[Piece]], colours: str) -> str:
    import io

    from rich.console import Console
    from rich.text import Text

    stream = io.StringIO()
    console = Console(
        file=stream, force_terminal=True, color_system=colours, no_color=False,  # type: ignore[arg-type]
        highlight=False, markup=False, emoji=False, legacy_windows=False, width=1000,
    )  # fmt: skip
    for line in lines:
        text = Text(no_wrap=True, overflow="ignore", end="")
        for words, style in line:
            text.append(words, STYLES[style])
        text.rstrip()
        console.print(text, soft_wrap=True)
    return stream.getvalue()
