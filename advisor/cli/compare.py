"""`feedwright compare`: hardware alternatives side by side, and what a wanted flow would take."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from advisor.answers import CompareReport
from advisor.cli.asking import asks_of
from advisor.cli.options import (
    ConfigArgument,
    PlainFormat,
    Shared,
    SheetsSideBySideOption,
    TableFormat,
    TableFormatOption,
    takes,
)
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import Exit, complain

__all__ = ["EPILOG", "compare"]

EPILOG = (
    "Exit codes: 0 answered; 1 no change of one thing reaches the target; 2 wrong usage; "
    "3 something could not be read, or an internal fault."
)


VaryOption = Annotated[
    list[str] | None,
    typer.Option(
        "--vary",
        metavar="NAME=VALUES",
        help="A field of the sheet or a fact, and its values with their units: a,b,c or "
        "low..high:count; may be given several times, for every combination.",
        show_default=False,
    ),
]
TargetOption = Annotated[
    str | None,
    typer.Option(
        "--target",
        metavar="FLOW",
        help="Flow to reach, with its unit: 30mm3/s. Shows the smallest change of one thing.",
        show_default=False,
    ),
]
SureOption = Annotated[
    str | None,
    typer.Option(
        "--sure",
        metavar="SHARE",
        help="Share of machines like this one that are to reach the target: 90%. "
        "[default: the typical machine is to]",
        show_default=False,
    ),
]
SortOption = Annotated[
    str | None,
    typer.Option(
        "--sort",
        metavar="FIGURE",
        help="Best first, by capacity, better, skip, case, mass, resolution, lag or retract. "
        "[default: as given]",
        show_default=False,
    ),
]
LimitOption = Annotated[
    int | None,
    typer.Option("--limit", metavar="N", min=1, help="Show N at most.", show_default=False),
]


@takes(
    "config", "sheet", "with_", "vary", "target", "sure", "sort", "limit", "profile", "preset",
    "parents", "asked", "weighed", "skip_test", "tests", "no_tests", "draws", "material",
    "extruder", "allow_outside", "full", "form", "colour",
)  # fmt: skip
def compare(
    config: ConfigArgument,
    shared: Shared,
    sheet: SheetsSideBySideOption = None,
    vary: VaryOption = None,
    target: TargetOption = None,
    sure: SureOption = None,
    sort: SortOption = None,
    limit: LimitOption = None,
    form: TableFormatOption = TableFormat.TEXT,
) -> int:
    """Put machines side by side, or find what reaches a flow.

    \b
    Examples:
      feedwright compare printer.cfg --sheet now.yaml --sheet other-motor.yaml
      feedwright compare printer.cfg --vary drive.gear_diameter=8mm..18mm:5
      feedwright compare printer.cfg --vary motor.class=round-36,square-42-short \\
        --vary motor.run_current=derated
      feedwright compare printer.cfg --target 20mm3/s --sure 90%
      feedwright compare printer.cfg --weighed t.csv --vary nozzle.diameter=0.6mm

    Each machine is set against the first: how sure it is that it delivers more.
    motor.run_current=derated is the largest current that each motor is rated for. The first, the
    config with the first sheet, is the machine as it is: its gearing is the config's, and weighed
    tests were done on it. Another sheet brings its own gears. --full has all figures.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import compare as work_out

        report = work_out(
            config,
            asks_of(config, shared=shared),
            sheets=tuple(sheet or ()),
            vary=tuple(vary or ()),
            target=target,
            sure=sure,
            sort=sort,
            limit=limit,
            extruder=shared.extruder,
        )
        for error in report.errors:
            complain(error)
        return _render(report, form, shared), _exit_code(report)

    plain = PlainFormat.JSON if form is TableFormat.JSON else PlainFormat.TEXT
    return respond(work, failure=answer_failure(plain))


def _render(report: CompareReport, form: TableFormat, shared: Shared) -> str:
    if form is TableFormat.TEXT:
        from advisor.report import compare_text, look_for

        look = look_for(sys.stdout, shared.colour.value)
        return compare_text.render(report, look, full=shared.full)
    if form is TableFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import render_compare_csv

    return render_compare_csv(report)


def _exit_code(report: CompareReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    target = report.target
    missed = target is not None and target.reached is False
    if missed and target is not None and all(lever.to is None for lever in target.levers):
        return Exit.FINDINGS
    return Exit.CLEAN
