"""`feedwright grip`: what the gears do to the filament, by material and size of gears."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from advisor.answers import GripReport
from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import (
    AllowOutsideOption,
    AnswerFormat,
    AskedOption,
    Colour,
    ColourOption,
    ConfigArgument,
    ExtruderOption,
    FullOption,
    MaterialOption,
    ParentsOption,
    PlainFormat,
    PresetOption,
    ProfileOption,
    SheetOption,
    WeighedOption,
    WithOption,
)
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import complain

__all__ = ["EPILOG", "grip"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage; 3 something could not be read, or an internal fault."
)

BesideOption = Annotated[
    list[str] | None,
    typer.Option(
        "--beside",
        metavar="NAME",
        help="Material to show beside the machine's own; may be given several times. "
        "[default: all of the catalogue]",
        show_default=False,
    ),
]


def grip(
    config: ConfigArgument,
    beside: BesideOption = None,
    sheet: SheetOption = None,
    with_: WithOption = None,
    profile: ProfileOption = None,
    preset: PresetOption = None,
    parents: ParentsOption = None,
    material: MaterialOption = None,
    asked: AskedOption = None,
    weighed: WeighedOption = None,
    extruder: ExtruderOption = None,
    allow_outside: AllowOutsideOption = None,
    full: FullOption = False,
    form: AnswerFormat = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Show how close the gears are to slipping on the filament.

    \b
    Examples:
      feedwright grip printer.cfg
      feedwright grip printer.cfg --asked 12mm3/s --beside tpu-95a --beside petg
      feedwright grip printer.cfg --material pla-soft

    The push needed at one flow (mm3/s) is set against the force at which the filament slips, for
    this filament, the softest and the usual ones, in these drive gears and the next sizes; --full
    has all. Soft filament and small gears slip first.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import grip_answer

        asks = asks_of(
            config, sheet=sheet, profile=profile, preset=preset, parents=parents, material=material,
            asked=asked, weighed=weighed,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        report = grip_answer(config, asks, extruder=extruder, materials=tuple(beside or ()))
        for error in report.errors:
            complain(error)
        return _render(report, form, colour, full=full), Exit.FAULT if report.errors else Exit.CLEAN

    return respond(work, failure=answer_failure(form))


def _render(report: GripReport, form: PlainFormat, colour: Colour, *, full: bool) -> str:
    if form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import grip_text, look_for

    return grip_text.render(report, look_for(sys.stdout, colour.value), full=full)
