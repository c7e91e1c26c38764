"""The command line app: which commands there are, and the options of all."""

from __future__ import annotations

from typing import Annotated

import typer

from advisor.base import __version__
from advisor.cli.lazy import HELP, LazyGroup

__all__ = ["app"]


app = typer.Typer(
    name="feedwright",
    cls=LazyGroup,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=HELP,
    epilog="Exit codes: 0 nothing to object; 1 findings; 2 wrong usage; 3 something could not be "
    "read, or an internal fault. stdout carries the report only.",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"feedwright {__version__}")
        raise typer.Exit


@app.callback(cls=LazyGroup)
def feedwright(
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            callback=_show_version,
            is_eager=True,
            help="Show the version and stop.",
        ),
    ] = False,
) -> None:
    """Tell whether a 3D printer's extruder can do what is requested, and what to change.

    \b
    Begin with one of these:
      feedwright lint printer.cfg              can this extruder do it
      feedwright derate 1.0A                   what current for this motor
      feedwright flow printer.cfg --asked 24   is the slicer's flow too much
      feedwright diagnose printer.cfg --interactive   it clicks, prints thin: why

    \b
    Then:
      feedwright sheet printer.cfg             say what you know of the hardware
      feedwright explain run_current           what a setting or a finding is
    """
