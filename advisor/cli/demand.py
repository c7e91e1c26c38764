"""`feedwright demand`: what a sliced print really asks over time against the capacity."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from advisor.answers import DemandReport
from advisor.base import UnreadableError, UsageError
from advisor.cli.asking import asks_of
from advisor.cli.options import CapsOption, Shared, takes
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.streams import Exit, complain

if TYPE_CHECKING:
    from advisor.report import Look

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


@takes(
    "print_", "config", "sheet", "with_", "profile", "preset", "parents", "material", "weighed",
    "skip_test", "tests", "no_tests", "extruder", "allow_outside", "caps", "csv", "full",
    "form", "colour",
)  # fmt: skip
def demand(
    print_: PrintArgument,
    config: ConfigOption,
    shared: Shared,
    caps: CapsOption = None,
    csv: CsvOption = None,
) -> int:
    """Tell what a sliced print really asks of the extruder, over time.

    \b
    Examples:
      feedwright demand part.gcode --config printer.cfg
      feedwright demand part.gcode --config printer.cfg --csv flow.csv
      feedwright demand part.gcode --config printer.cfg --caps 8..30mm3/s
      zcat part.gcode.gz | feedwright demand - --config printer.cfg

    Plans every move under the config's speed and acceleration limits, so that it tells the flow
    in mm3/s that is reached, not the one that is set: peak, sustained over the melt zone, by
    feature and by height, and where it is above the capacity.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import demand as work_out, read_caps

        _hold_apart(print_, config)
        replace, flows = _may_replace(csv), read_caps(caps)
        asks, progress = asks_of(config, shared=shared), _progress(print_)
        with _opened(print_) as stream:
            report = work_out(stream, print_, config, asks, extruder=shared.extruder,
                              caps=flows, progress=progress)  # fmt: skip
        for error in report.errors:
            complain(error)
        _write_csv(report, csv, replace=replace)
        return shown(shared, report, text), _exit_code(report)

    def text(report: DemandReport, look: Look) -> str:
        from advisor.report import demand_text

        return demand_text.render(report, look, full=shared.full)

    return respond(work, failure=answer_failure(shared.form))


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


def _hold_apart(print_: str, config: str) -> None:
    if print_ == "-" and config == "-":
        raise UsageError("print and config cannot both be standard input", "name one of them")


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
    from advisor.report import render_demand_csv

    write_out(path, render_demand_csv(report), replace=replace, option="--csv")


def _exit_code(report: DemandReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
