"""The one command to type next, in words: it can be pasted as it stands."""

from __future__ import annotations

from shlex import quote

from advisor.model import NextStep
from advisor.report.page import Page

__all__ = ["next_command", "write_next"]


def next_command(step: NextStep) -> str:
    """Return the command as it is typed."""
    return " ".join(("feedwright", *map(quote, step.arguments)))


def write_next(page: Page, step: NextStep | None) -> None:
    """Write what to do next, and its command on a line of its own, however long."""
    if step is not None:
        page.blank()
        page.entry("next", f"{step.words}:")
        page.row(("  ", ""), (next_command(step), "strong"))
