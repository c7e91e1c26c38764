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
    str,
    typer.Argument(
        metavar="NAME",
        help="A rule, a fact (motor.derated_current), a limit (torque) or a catalogue name (pla).",
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
    name: NameArgument,
    config: ConfigArgument = None,
    sheet: SheetOption = None,
    with_: WithOption = None,
    profile: ProfileOption = None,
    material: MaterialOption = None,
    asked: AskedOption = None,
    allow_outside: AllowOutsideOption = None,
    form: FormatOption = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Explain a rule, a fact, a limit or a material.

    \b
    Examples:
      feedwright explain run-current-above-derated
      feedwright explain motor.derated_current printer.cfg --sheet hardware.yaml
      feedwright explain petg

    With a config, shows the whole derivation of a fact. Every number is shown with its unit,
    its spread and where it comes from.
    """

    def work() -> tuple[str, Exit]:
        from advisor.lint.explain import explain as look_up

        asks = asks_of(
            sheet=sheet, profile=profile, material=material, asked=asked,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        explanation = look_up(name, config=config, asks=asks)
        if form is PlainFormat.JSON:
            from advisor.report import json

            return json.render_explain(explanation), Exit.CLEAN
        from advisor.report import explain_text
        from advisor.report.look import look_for

        return explain_text.render(explanation, look_for(sys.stdout, colour.value)), Exit.CLEAN

    return respond(work, failure=answer_failure(form))
