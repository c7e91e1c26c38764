"""`feedwright explain`: what a name means and how its value came about."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import (
    AllowOutsideOption,
    AskedOption,
    Colour,
    ColourOption,
    FullOption,
    MaterialOption,
    PlainFormat,
    ProfileOption,
    SheetOption,
    WithOption,
)
from advisor.cli.outcome import answer_failure, respond

__all__ = ["EPILOG", "explain"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage, an unknown name too; 3 something could not be read, "
    "or an internal fault."
)

NameArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="[NAME]",
        help="A key of the config (run_current), a rule, a fact (motor.derated_current), a limit "
        "(torque), a catalogue name (pla) or a word of the trade (clicking). [default: list them]",
        show_default=False,
    ),
]
ConfigArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="[CONFIG]",
        help="Config file, for the whole derivation of a fact.",
        show_default=False,
    ),
]
FormatOption = Annotated[
    PlainFormat,
    typer.Option(
        "--format", help="Form of the answer on stdout. [default: text]", show_default=False
    ),
]


def explain(
    name: NameArgument = None,
    config: ConfigArgument = None,
    sheet: SheetOption = None,
    with_: WithOption = None,
    profile: ProfileOption = None,
    material: MaterialOption = None,
    asked: AskedOption = None,
    allow_outside: AllowOutsideOption = None,
    full: FullOption = False,
    form: FormatOption = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Explain a setting, a rule, a fact, a limit, a material or a word.

    \b
    Examples:
      feedwright explain run_current
      feedwright explain run-current-above-derated
      feedwright explain motor.derated_current printer.cfg --sheet hardware.yaml
      feedwright explain petg
      feedwright explain clicking

    With a config, shows how the value of a fact comes about, two levels deep; --full has all of
    it. Every number has its unit, its range and where it comes from.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import explain as look_up

        asks = asks_of(
            sheet=sheet, profile=profile, material=material, asked=asked,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        explanation = look_up(name, config=config, asks=asks)
        if form is PlainFormat.JSON:
            from advisor.report import as_json

            return as_json(explanation), Exit.CLEAN
        from advisor.report import explain_text, look_for

        look = look_for(sys.stdout, colour.value)
        return explain_text.render(explanation, look, full=full), Exit.CLEAN

    return respond(work, failure=answer_failure(form))
