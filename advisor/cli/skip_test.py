"""`feedwright skip-test plan` and `read`: the test without tools."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.cli.app import group_of
from advisor.cli.asking import asks_of
from advisor.cli.options import (
    ConfigArgument,
    ConfigOfTestOption,
    Shared,
    TableOption,
    takes,
)
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.output_files import must_be_new, write_new
from advisor.cli.streams import Exit, complain_each

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from typer._click import Command

    from advisor.report import Look
    from advisor.weigh import SkipPlanAnswer, SkipReadAnswer

__all__ = ["GROUP", "plan", "read", "skip_test"]

GROUP = True
PLAN_EPILOG = (
    "Exit codes: 0 planned; 1 no test is planned for this machine as it is; 2 wrong usage; 3 "
    "something could not be read or written, or an internal fault."
)
READ_EPILOG = (
    "Exit codes: 0 read; 1 the machine as stated cannot explain the test; 2 wrong usage; 3 "
    "something could not be read, or an internal fault."
)

FilesArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="FILE...", help="Table of a skip test (CSV); several count together.",
        show_default=False,
    ),
]  # fmt: skip
GcodeOption = Annotated[
    str | None,
    typer.Option(
        "--gcode",
        metavar="FILE",
        help="Write the G-code to new files: skip.gcode gives skip-1.gcode ... skip-end.gcode.",
        show_default=False,
    ),
]


@takes(
    "config", "sheet", "with_", "material", "temperature", "extruder", "allow_outside", "csv",
    "gcode", "full", "form", "colour",
)  # fmt: skip
def plan(
    config: ConfigArgument,
    shared: Shared,
    csv: TableOption = None,
    gcode: GcodeOption = None,
) -> int:
    """Plan a skip test: lowered currents, and the flow raised to the first click.

    \b
    Examples:
      feedwright skip-test plan printer.cfg
      feedwright skip-test plan printer.cfg --gcode skip.gcode --csv skip.csv
      feedwright skip-test plan printer.cfg --material petg --temperature 245degC

    Torque is current times a constant, so the flow in mm3/s at which a motor at a lowered current
    in A RMS first clicks tells the push in the motor's own units: no scale, no tools. The current
    is only ever lowered. A hot, moving machine is dangerous: read the cautions and stay with it.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import plan_skip_test

        asks = asks_of(config, shared=shared)
        report = plan_skip_test(config, asks, extruder=shared.extruder)
        texts = dict(_texts(report, csv, gcode))
        must_be_new(("--csv" if path == csv else "--gcode", path) for path in texts)
        complain_each(report.errors)
        for path, text in texts.items():
            write_new(path, text)
        code = Exit.FAULT if report.errors else Exit.FINDINGS if report.refused else Exit.CLEAN
        return shown(shared, report, _plan_text(shared)), code

    return respond(work, failure=answer_failure(shared.form))


@takes(
    "files", "config", "sheet", "with_", "material", "extruder", "allow_outside", "full", "form",
    "colour",
)  # fmt: skip
def read(files: FilesArgument, config: ConfigOfTestOption, shared: Shared) -> int:
    """Read a skip test: what the motor can push, and what that leaves of the capacity.

    \b
    Examples:
      feedwright skip-test read skip.csv --config printer.cfg
      feedwright skip-test read pla.csv petg.csv --config printer.cfg

    The table has a header such as 'current [A]; last_good [mm3/s]; first_click [mm3/s]; noticed',
    with comma, semicolon or tab, and a decimal point or comma. It narrows torque and push in
    mm3/s; the grip needs a spring scale.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import read_skip_tests

        asks = asks_of(config, shared=shared)
        report = read_skip_tests(files, config, asks, extruder=shared.extruder)
        complain_each(report.errors)
        made = report.calibration
        contradicted = made is not None and made.contradiction is not None
        code = Exit.FAULT if report.errors else Exit.FINDINGS if contradicted else Exit.CLEAN
        return shown(shared, report, _read_text(shared)), code

    return respond(work, failure=answer_failure(shared.form))


def skip_test() -> Command:
    """Return the group of the commands."""
    words = "Plan and read skip tests: the push in the motor's own units, without tools."
    commands = (("plan", plan, PLAN_EPILOG), ("read", read, READ_EPILOG))
    return group_of("skip-test", words, commands)


def _texts(report: SkipPlanAnswer, csv: str | None, gcode: str | None) -> Iterable[tuple[str, str]]:
    """Yield the path and the text of each file that is wanted."""
    if report.plan is None:
        return
    if csv is not None:
        yield csv, report.table
    if gcode is not None:
        stem, ending = os.path.splitext(gcode)
        for file in report.gcode:
            yield f"{stem}-{file.name}{ending}", file.gcode


def _plan_text(shared: Shared) -> Callable[[SkipPlanAnswer, Look], str]:
    def text(report: SkipPlanAnswer, look: Look) -> str:
        from advisor.report import skip_text

        return skip_text.render_skip_plan(report, look, full=shared.full)

    return text


def _read_text(shared: Shared) -> Callable[[SkipReadAnswer, Look], str]:
    def text(report: SkipReadAnswer, look: Look) -> str:
        from advisor.report import skip_text

        return skip_text.render_skip_read(report, look, full=shared.full)

    return text
