"""`feedwright sheet`: a commented starter hardware sheet for a config."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from advisor.asks import Asks
from advisor.cli.exits import Exit
from advisor.cli.options import ExtruderOption, MaterialOption, ProfileOption, SheetOption
from advisor.cli.outcome import respond

__all__ = ["EPILOG", "sheet"]

EPILOG = (
    "Exit codes: 0 written; 2 wrong usage; 3 something could not be read, or an internal fault."
)

ConfigArgument = Annotated[
    str,
    typer.Argument(
        metavar="CONFIG", help="Config file, or - for standard input.", show_default=False
    ),
]


def sheet(
    config: ConfigArgument,
    known: SheetOption = None,
    profile: ProfileOption = None,
    material: MaterialOption = None,
    extruder: ExtruderOption = None,
) -> int:
    """Write a commented starter hardware sheet to stdout.

    \b
    Examples:
      feedwright sheet printer.cfg > hardware.yaml
      feedwright sheet printer.cfg --sheet old.yaml --material petg

    What is known is filled in, what matters most is asked first; every line says what is taken
    meanwhile, in which unit, and how to find the value out.
    """

    def work() -> tuple[str, Exit]:
        from advisor.lint.starter import starter_sheet

        asks = Asks(
            sheet=known,
            profiles=tuple(profile or ()),
            material=material,
            stdin=sys.stdin.buffer.read() if config == "-" else None,
        )
        return starter_sheet(config, asks, extruder=extruder), Exit.CLEAN

    return respond(work)
