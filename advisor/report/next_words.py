"""The one command to type next, in words: it can be pasted as it stands."""

from __future__ import annotations

from shlex import quote

from advisor.base import NextStep
from advisor.report.page import Page

__all__ = ["next_command", "write_command", "write_next"]


def next_command(step: NextStep) -> str:
    """Return the command as it is typed."""
    return " ".join(("feedwright", *map(quote, step.arguments)))


def write_next(page: Page, step: NextStep | None, *, apart: bool = True) -> None:
    """Write what to do next, and its command on lines of its own that can be pasted together."""
    if step is not None:
        if apart:
            page.blank()
        page.entry("next", f"{step.words}:")
        write_command(page, step)


def write_command(page: Page, step: NextStep) -> None:
    """Write the command on lines of its own that can be pasted together."""
    for line in _lines(step, page.look.width):
        page.row((line, "strong"))


def _lines(step: NextStep, width: int) -> list[str]:
    """Return a command in lines that a shell reads as one: broken before an option, with a mark."""
    groups = [["feedwright"]]
    for word in step.arguments:
        if word.startswith("--"):
            groups.append([])
        groups[-1].append(quote(word))
    first, *options = (" ".join(group) for group in groups)
    lines = [f"  {first}"]
    for option in options:
        if len(lines[-1]) + len(option) + len(" ") + len(_GOES_ON) > width:
            lines[-1] += _GOES_ON
            lines.append(f"    {option}")
        else:
            lines[-1] += f" {option}"
    return lines


_GOES_ON = " \\"
