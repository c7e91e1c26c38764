"""`feedwright torque`: torque against speed, what needs it, and which motor would serve."""

from __future__ import annotations

import sys

from advisor.answers import TorqueReport
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
    PrintOption,
    ProfileOption,
    SheetOption,
    WeighedOption,
    WithOption,
)
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import complain

__all__ = ["EPILOG", "torque"]

EPILOG = (
    "Exit codes: 0 the torque is enough, or cannot be known; 1 something asked needs more than the "
    "usable torque; 2 wrong usage; 3 something could not be read, or an internal fault."
)


def torque(
    config: ConfigArgument,
    sheet: SheetOption = None,
    with_: WithOption = None,
    profile: ProfileOption = None,
    preset: PresetOption = None,
    parents: ParentsOption = None,
    print_: PrintOption = None,
    material: MaterialOption = None,
    asked: AskedOption = None,
    weighed: WeighedOption = None,
    extruder: ExtruderOption = None,
    allow_outside: AllowOutsideOption = None,
    full: FullOption = False,
    form: AnswerFormat = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Show torque against speed, and which motor would do.

    \b
    Examples:
      feedwright torque printer.cfg
      feedwright torque printer.cfg --profile fast.ini
      feedwright torque printer.cfg --asked 24mm3/s --sheet hardware.yaml

    Feeds, pressure advance and retracts are set against the usable torque at their speed, in
    mN m at the motor; then which motor would do at 12, 24 and 48 V. --full adds the curve.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import torque_answer

        asks = asks_of(
            config, sheet=sheet, profile=profile, preset=preset, parents=parents, print_=print_,
            material=material, asked=asked, weighed=weighed,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        report = torque_answer(config, asks, extruder=extruder)
        for error in report.errors:
            complain(error)
        return _render(report, form, colour, full=full), _exit_code(report)

    return respond(work, failure=answer_failure(form))


def _render(report: TorqueReport, form: PlainFormat, colour: Colour, *, full: bool) -> str:
    if form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import look_for, torque_text

    return torque_text.render(report, look_for(sys.stdout, colour.value), full=full)


def _exit_code(report: TorqueReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    return Exit.FINDINGS if report.enough is False else Exit.CLEAN
