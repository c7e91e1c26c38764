"""`feedwright flow`: does the slicer ask for more than the extruder can deliver."""

from __future__ import annotations

import sys

from advisor.answers import FlowReport
from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import (
    AllowOutsideOption,
    AnswerFormat,
    AskedOption,
    Colour,
    ColourOption,
    ConfigArgument,
    DrawsOption,
    ExtruderOption,
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

__all__ = ["EPILOG", "flow"]

EPILOG = (
    "Exit codes: 0 it fits, or cannot be known; 1 the slicer asks for too much; 2 wrong usage; "
    "3 something could not be read, or an internal fault."
)


def flow(
    config: ConfigArgument,
    profile: ProfileOption = None,
    preset: PresetOption = None,
    parents: ParentsOption = None,
    asked: AskedOption = None,
    weighed: WeighedOption = None,
    draws: DrawsOption = None,
    sheet: SheetOption = None,
    with_: WithOption = None,
    material: MaterialOption = None,
    extruder: ExtruderOption = None,
    allow_outside: AllowOutsideOption = None,
    form: AnswerFormat = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Tell whether the slicer asks for too much, and what to set.

    \b
    Examples:
      feedwright flow printer.cfg --profile filament.ini
      feedwright flow printer.cfg --profile filament.json --profile process.json
      feedwright flow printer.cfg --asked 24mm3/s --material petg

    Answers yes or no first, then by how much in mm3/s, how sure that is, which stage of the
    extruder gives out first, and the largest flow to set.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import flow as work_out

        asks = asks_of(
            config, sheet=sheet, profile=profile, preset=preset, parents=parents, material=material,
            asked=asked, weighed=weighed, draws=draws,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        report = work_out(config, asks, extruder=extruder)
        for error in report.errors:
            complain(error)
        return _render(report, form, colour), _exit_code(report)

    return respond(work, failure=answer_failure(form))


def _render(report: FlowReport, form: PlainFormat, colour: Colour) -> str:
    if form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import flow_text, look_for

    return flow_text.render(report, look_for(sys.stdout, colour.value))


def _exit_code(report: FlowReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
