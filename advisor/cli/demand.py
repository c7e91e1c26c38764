"""`feedwright demand`: what a sliced print really asks over time against the capacity."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Annotated, BinaryIO

import typer

from advisor.answers import DemandReport
from advisor.base import UnreadableError, UsageError
from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import (
    AllowOutsideOption,
    AnswerFormat,
    Colour,
    ColourOption,
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
        "--csv",
        metavar="FILE",
        help="Write the flow over time to FILE; an earlier one is replaced, no other file.",
        show_default=False,
    ),
]


def demand(
    print_: PrintArgument,
    config: ConfigOption,
    sheet: SheetOption = None,
    with_: WithOption = None,
    profile: ProfileOption = None,
    preset: PresetOption = None,
    parents: ParentsOption = None,
    material: MaterialOption = None,
    weighed: WeighedOption = None,
    extruder: ExtruderOption = None,
    allow_outside: AllowOutsideOption = None,
    csv: CsvOption = None,
    full: FullOption = False,
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
        from advisor.answers import demand as work_out

        if print_ == "-" and config == "-":
            raise UsageError("print and config cannot both be standard input", "name one of them")
        replace = _may_replace(csv)
        asks = asks_of(
            config, sheet=sheet, profile=profile, preset=preset, parents=parents, material=material,
            weighed=weighed,
            with_=with_, allow_outside=allow_outside,
        )  # fmt: skip
        with _opened(print_) as stream:
            report = work_out(
                stream, print_, config, asks, extruder=extruder, progress=_progress(print_)
            )
        for error in report.errors:
            complain(error)
        _write_csv(report, csv, replace=replace)
        return _render(report, form, colour, full=full), _exit_code(report)

    return respond(work, failure=answer_failure(form))


def _opened(path: str) -> BinaryIO:
    from advisor.files import open_plain, remember_stream, unreadable

    if path == "-":
        if sys.stdin is None or sys.stdin.closed:
            raise UnreadableError(
                "standard input is closed", "pipe a print into it, or name a file"
            )
        remember_stream(sys.stdin)
        return sys.stdin.buffer

    try:
        return open_plain(path)
    except (OSError, ValueError) as err:
        raise unreadable(path, err) from None


def _progress(path: str) -> Callable[[int], None] | None:
    """Return what shows on stderr how far the reading is; nothing for a short or piped file."""
    from advisor.files import size_of

    if path == "-" or not sys.stderr.isatty() or size_of(path) < _LONG:
        return None
    whole = size_of(path)
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


def _may_replace(path: str | None) -> bool:
    """Return whether there is an earlier table of flows that is replaced."""
    if path is None:
        return False
    from advisor.files import begins_with, earlier
    from advisor.report import CSV_HEAD

    what = "table of flows that feedwright wrote"
    return earlier(path, option="--csv", ours=begins_with(CSV_HEAD), what=what)


def _write_csv(report: DemandReport, path: str | None, *, replace: bool) -> None:
    if path is None:
        return
    from advisor.files import write_out
    from advisor.report import demand_csv

    write_out(path, demand_csv.render_csv(report), replace=replace, option="--csv")


def _render(report: DemandReport, form: PlainFormat, colour: Colour, *, full: bool) -> str:
    if form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import demand_text, look_for

    return demand_text.render(report, look_for(sys.stdout, colour.value), full=full)


def _exit_code(report: DemandReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
