"""The command line app: which commands there are, and the options of all.

A command is imported and built only when it is asked for: a run uses one, and building the options
of all would double the start-up.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Annotated

import typer
from typer.core import TyperCommand, TyperGroup

from advisor.base import __version__

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from typer._click import Command, Context

__all__ = ["COMMANDS", "HELP", "LazyGroup", "app", "group_of"]

COMMANDS = (
    "lint", "derate", "flow", "diagnose", "session", "mend", "demand", "weigh", "skip-test",
    "compare", "torque", "grip", "sheet", "report", "explain",
)  # fmt: skip
"""The commands in the order of the help; each is a function of that name in advisor/cli/,
or a group of commands that the function makes."""
HELP = {"help_option_names": ["-h", "--help"]}


class PlainCommand(TyperCommand):
    """A command whose usage line shows its arguments as they are."""

    def collect_usage_pieces(self, ctx: Context) -> list[str]:
        """Return the parts of the usage line without braces."""
        return [piece.strip("{}") for piece in super().collect_usage_pieces(ctx)]


class LazyGroup(TyperGroup):
    """The commands of `COMMANDS`, each built on demand."""

    def list_commands(self, ctx: Context) -> list[str]:
        """Return the names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: Context, cmd_name: str) -> Command | None:
        """Return the command of this name, or None."""
        if cmd_name not in COMMANDS:
            return None
        if cmd_name not in self.commands:
            self.commands[cmd_name] = _built(cmd_name)
        return self.commands[cmd_name]

    def resolve_command(
        self, ctx: Context, args: list[str]
    ) -> tuple[str | None, Command | None, list[str]]:
        """Resolve a command; for an unknown one, let all names be candidates for a hint."""
        if args and args[0] not in COMMANDS:
            for name in COMMANDS:
                self.get_command(ctx, name)
        return super().resolve_command(ctx, args)


def _built(name: str) -> Command:
    home = name.replace("-", "_")
    module = importlib.import_module(f"advisor.cli.{home}")
    if getattr(module, "GROUP", False):
        group: Command = getattr(module, home)()
        return group
    alone = typer.Typer(add_completion=False, rich_markup_mode=None)
    alone.command(cls=PlainCommand, epilog=module.EPILOG, context_settings=HELP)(
        getattr(module, name)
    )
    command = typer.main.get_command(alone)
    command.name = name
    return command


def group_of(
    name: str, words: str, commands: Iterable[tuple[str, Callable[..., int], str]]
) -> Command:
    """Return a group of commands.

    Parameters
    ----------
    name, words : str
        What it is called, and its line in the help.
    commands : iterable
        The name of each, its function, and what ends its help.
    """
    group = typer.Typer(
        name=name,
        help=words,
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        context_settings=HELP,
    )
    for called, made, epilog in commands:
        group.command(called, cls=PlainCommand, epilog=epilog, context_settings=HELP)(made)
    return typer.main.get_command(group)


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
