"""`feedwright demand`: what a sliced print really asks over time against the capacity."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import Annotated, BinaryIO

import typer

from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import (
    AnswerFormat,
    Colour,
    ColourOption,
    ExtruderOption,
    MaterialOption,
    ParentsOption,
    PlainFormat,
    PresetOption,
    ProfileOption,
    SheetOption,
    WeighedOption,
)
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import complain
from advisor.errors import UnreadableError, UsageError
from advisor.records import DemandReport

__all__ = ["EPILOG", "demand"]

EPILOG = (
    "Exit codes: 0 it fits, or cannot be known; 1 the print asks for too much; 2 wrong usage; "
    "3 something could not be read, or an internal fault."
)
_LONG = 8 * 1024 * 1024  # bytes from which progress is shown

PrintArgument = Annotated[
    str,
    typer.Argument(
        metavar="PRINT",
        help="Sliced print (G-code, plain or gzip), or - for standard input.",
        show_default=False,
    ),
]
ConfigOption = Annotated[
    str,
    typer.Option(
        "--config", metavar="CONFIG", help="Config whose limits it runs under.", show_default=False
    ),
]
CsvOption = Annotated[
    str | None,
    typer.Option(
        "--csv", metavar="FILE", help="Write the flow over time to FILE.", show_default=False
    ),
]


def demand(
    print_: PrintArgument,
    config: ConfigOption,
    sheet: SheetOption = None,
    profile: ProfileOption = None,
    preset: PresetOption = None,
    parents: ParentsOption = None,
    material: MaterialOption = None,
    weighed: WeighedOption = None,
    extruder: ExtruderOption = None,
    csv: CsvOption = None,
    form: AnswerFormat = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Tell what a sliced print really asks of the extruder, over time.

    \b
    Examples:
      feedwright demand part.gcode --config printer.cfg
      feedwright demand part.gcode --config printer.cfg --profile filament.ini --csv flow.csv
      zcat part.gcode.gz | feedwright demand - --config printer.cfg

    Plans every move under the config's speed and acceleration limits, so that it tells the flow
    in mm3/s that is reached, not the one that is set: peak, sustained over the melt zone, by
    feature and by height, and where it is above the capacity.
    """

    def work() -> tuple[str, Exit]:
        from advisor.lint.demand import demand as work_out

        if print_ == "-" and config == "-":
            raise UsageError("print and config cannot both be standard input", "name one of them")
        asks = asks_of(
            config, sheet=sheet, profile=profile, preset=preset, parents=parents, material=material,
            weighed=weighed,
        )  # fmt: skip
        with _opened(print_) as stream:
            report = work_out(
                stream, print_, config, asks, extruder=extruder, progress=_progress(print_)
            )
        for error in report.errors:
            complain(error)
        _write_csv(report, csv)
        return _render(report, form, colour), _exit_code(report)

    return respond(work, failure=answer_failure(form))


def _opened(path: str) -> BinaryIO:
    if path == "-":
        return sys.stdin.buffer
    from advisor.config.disk import unreadable

    try:
        return open(path, "rb")
    except (OSError, ValueError) as err:
        raise unreadable(path, err) from None


def _progress(path: str) -> Callable[[int], None] | None:
    """Return what shows on stderr how far the reading is; nothing for a short or piped file."""
    if path == "-" or not sys.stderr.isatty() or os.path.getsize(path) < _LONG:
        return None
    whole = os.path.getsize(path)
    shown = -1

    def show(done: int) -> None:
        nonlocal shown
        percent = min(100, 100 * done // whole)
        if percent != shown:
            shown = percent
            end = "\r\x1b[K" if percent == 100 else ""
            sys.stderr.write(f"\rreading the print: {percent} %{end}")
            sys.stderr.flush()

    return show


def _write_csv(report: DemandReport, path: str | None) -> None:
    if path is None:
        return
    from advisor.report import demand_json

    try:
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(demand_json.render_csv(report))
    except OSError as err:
        words = (err.strerror or "it cannot be opened").lower()
        raise UnreadableError(f"'{path}' cannot be written: {words}", "name another") from None


def _render(report: DemandReport, form: PlainFormat, colour: Colour) -> str:
    if form is PlainFormat.JSON:
        from advisor.report import demand_json

        return demand_json.render(report)
    from advisor.report import demand_text
    from advisor.report.look import look_for

    return demand_text.render(report, look_for(sys.stdout, colour.value))


def _exit_code(report: DemandReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
