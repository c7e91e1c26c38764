"""The one command at the end of a report: it works when it is pasted, at any width.

The reference is the standard library's own reader of shell words.
"""

from __future__ import annotations

import shlex

from every import every

from advisor.base import NextStep
from advisor.report.answer_notes import write_next
from advisor.report.look import Look
from advisor.report.page import Page

COMMANDS = (
    ("lint", "printer.cfg", "--with", "hotend.class=standard"),
    (
        "lint",
        "my printer's --odd.cfg",
        "--sheet",
        "a b.yaml",
        "--profile",
        "x" * 90,
        "--with",
        "a=b",
    ),
    ("weigh", "plan", "printer.cfg", "--csv", "flow-test.csv"),
)


@every("arguments", COMMANDS)
def test_a_command_is_read_by_a_shell_as_it_is_meant(arguments: tuple[str, ...]) -> None:
    """Broken lines end with the shell's own mark; names with blanks and quotes stay whole."""
    for width in (40, 80, 120):
        page = Page(Look(width=width))
        write_next(page, NextStep("try it", arguments))
        lines = page.render().splitlines()[1:]
        assert all(line.endswith(" \\") for line in lines[:-1])
        assert tuple(shlex.split("\n".join(lines).replace("\\\n", " "))) == (
            "feedwright",
            *arguments,
        )
