"""`feedwright weigh plan`, `next`, `read` and `compare`: the weighed flow test."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.base import UsageError
from advisor.cli.app import group_of
from advisor.cli.asking import asks_of
from advisor.cli.options import (
    ConfigArgument,
    ConfigOfTestOption,
    GcodeOption,
    PlainFormat,
    Shared,
    SheetsOfTablesOption,
    TableOption,
    WantedPageOption,
    takes,
)
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.output_files import STDOUT, may_replace, must_be_new, write_new, write_page
from advisor.cli.streams import Exit, complain_each

if TYPE_CHECKING:
    from typer._click import Command
    from typer.models import OptionInfo

    from advisor.report import Look
    from advisor.weigh import PlanReport, WeighCompareAnswer, WeighNextAnswer, WeighReport

__all__ = ["GROUP", "compare", "next_", "plan", "read", "weigh"]

GROUP = True
PLAN_EPILOG = (
    "Exit codes: 0 planned; 1 no test is planned for this machine as it is; 2 wrong usage; 3 "
    "something could not be read or written, or an internal fault."
)
COMPARE_EPILOG = (
    "Exit codes: 0 compared; 2 wrong usage; 3 something could not be read, or an internal fault."
)
NEXT_EPILOG = (
    "Exit codes: 0 the next piece, or that the test may end; 1 no piece is planned for this "
    "machine as it is; 2 wrong usage; 3 something could not be read or written, or an internal "
    "fault."
)
READ_EPILOG = (
    "Exit codes: 0 read; 1 the machine as stated cannot explain the test; 2 wrong usage; 3 "
    "something could not be read, or an internal fault."
)

ConfigsOption = Annotated[
    list[str],
    typer.Option(
        "--config",
        metavar="CONFIG",
        help="Config of the machine weighed; of two machines: one a table, in their order.",
        show_default=False,
    ),
]
FileArgument = Annotated[
    str,
    typer.Argument(
        metavar="TABLE", help="Table of a weighed test, as far as filled in.", show_default=False
    ),
]
TwoFilesArgument = Annotated[
    list[str],
    typer.Argument(metavar="A B", help="Tables of two weighed tests (CSV).", show_default=False),
]
FilesArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="FILE...",
        help="Table of a weighed test (CSV); several are compared.",
        show_default=False,
    ),
]


def _option(name: str, metavar: str, text: str) -> OptionInfo:
    option: OptionInfo = typer.Option(name, metavar=metavar, help=text, show_default=False)
    return option


@takes(
    "config", "sheet", "with_", "material", "temperature", "lowest", "highest", "steps",
    "scale", "uncertainty", "lift", "one_by_one", "weighed", "skip_test", "tests", "no_tests",
    "extruder", "allow_outside", "csv", "gcode", "full", "form", "colour",
)  # fmt: skip
def plan(
    config: ConfigArgument,
    shared: Shared,
    lowest: Annotated[
        str | None,
        _option("--from", "FLOW", "Slowest flow beside the reference: 8mm3/s. [default: ours]"),
    ] = None,
    highest: Annotated[
        str | None, _option("--to", "FLOW", "Fastest flow: 26mm3/s. [default: ours]")
    ] = None,
    steps: Annotated[
        int | None, _option("--steps", "N", "Flows beside the reference. [default: 12]")
    ] = None,
    scale: Annotated[
        str | None, _option("--scale", "MASS", "Resolution of the scale. [default: 0.01g]")
    ] = None,
    uncertainty: Annotated[
        str | None,
        _option("--uncertainty", "SHARE", "Wanted of a piece's mass, standard. [default: 0.5%]"),
    ] = None,
    lift: Annotated[
        str | None,
        _option(
            "--lift", "HEIGHT", "Lift the head by this first: 50mm; home before. [default: no]"
        ),
    ] = None,
    one_by_one: Annotated[
        bool,
        typer.Option(
            "--one-by-one", help="The first two pieces alone; 'weigh next' chooses the others."
        ),
    ] = False,
    csv: TableOption = None,
    gcode: GcodeOption = None,
) -> int:
    """Plan a weighed flow test, with its G-code and table.

    \b
    Examples:
      feedwright weigh plan printer.cfg --gcode test.gcode --csv test.csv
      feedwright weigh plan printer.cfg --scale 0.1g --uncertainty 2%
      feedwright weigh plan printer.cfg --from 12mm3/s --to 24mm3/s --steps 9

    Flows in mm3/s stand close together where under-extrusion should start, with a slow reference
    first and last; nothing exceeds the config's limits. A hot, moving machine is
    dangerous: read the cautions and stay with it.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import WishTexts, plan_test

        must_be_new((("--csv", csv), ("--gcode", gcode)))
        asks = asks_of(config, shared=shared)
        wishes = WishTexts(lowest, highest, steps, scale, uncertainty, lift, one_by_one)
        report = plan_test(config, asks, wishes, extruder=shared.extruder)
        complain_each(report.errors)
        if report.plan is not None:
            write_new(csv, report.table)
            write_new(gcode, report.gcode)
        code = Exit.FAULT if report.errors else Exit.FINDINGS if report.refused else Exit.CLEAN
        return _plan_text(report, shared), code

    return respond(work, failure=answer_failure(shared.form))


@takes(
    "file", "config", "sheet", "with_", "prove", "gcode", "keep_hot", "extruder", "allow_outside",
    "full", "form", "colour",
)  # fmt: skip
def next_(
    file: FileArgument,
    config: ConfigOfTestOption,
    shared: Shared,
    prove: Annotated[
        str | None,
        _option("--prove", "FLOW", "Ask only whether the limit is above this: 24mm3/s."),
    ] = None,
    gcode: GcodeOption = None,
    keep_hot: Annotated[
        bool,
        typer.Option("--keep-hot", help="G-code: leave the heater ON for the next piece."),
    ] = False,
) -> int:
    """Choose the next piece of a weighed test, one by one.

    \b
    Examples:
      feedwright weigh plan printer.cfg --one-by-one --csv test.csv
      feedwright weigh next test.csv --config printer.cfg
      feedwright weigh next test.csv --config printer.cfg --gcode b.gcode
      feedwright weigh next test.csv --config printer.cfg --prove 24mm3/s

    After each piece: which flow in mm3/s tells most, what it would settle, and whether the test
    may end. It takes about half the filament of the whole test. The table is only read: the
    row to add is printed. A hot, moving machine is dangerous: read the cautions, stay with it.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import next_piece

        must_be_new((("--gcode", gcode),))
        asks, extruder = asks_of(config, shared=shared), shared.extruder
        report = next_piece(file, config, asks, prove=prove, hot=keep_hot, extruder=extruder)
        complain_each(report.errors)
        if report.piece is not None:
            write_new(gcode, report.gcode)
        code = Exit.FAULT if report.errors else Exit.FINDINGS if report.refused else Exit.CLEAN
        return shown(shared, report, _next_text(shared)), code

    return respond(work, failure=answer_failure(shared.form))


@takes(
    "files", "config", "sheet", "with_", "material", "extruder", "allow_outside", "full", "form",
    "colour",
)  # fmt: skip
def read(
    files: FilesArgument,
    config: ConfigOfTestOption,
    shared: Shared,
    sheet: SheetsOfTablesOption = None,
) -> int:
    """Read a weighed flow test and what it tells.

    \b
    Examples:
      feedwright weigh read test.csv --config printer.cfg
      feedwright weigh read pla.csv petg.csv --config printer.cfg
      feedwright weigh read a.csv b.csv --config printer.cfg

    Tells where under-extrusion starts and why, whether the rotation distance is right, and what
    the test makes of the capacity in mm3/s. The table has a header such as
    'flow [mm3/s]; length [mm]; mass [g]; skipped; note', with comma, semicolon or tab, and a
    decimal point or comma. Repeated rows, several pieces together (pieces) and a container
    (tare) are welcome.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import read_tests

        asks, sheets = asks_of(config, shared=shared), tuple(sheet or ())
        report = read_tests(files, config, asks, sheets=sheets, extruder=shared.extruder)
        complain_each(report.errors)
        contradicted = any(made.contradiction is not None for made in report.calibrations)
        code = Exit.FAULT if report.errors else Exit.FINDINGS if contradicted else Exit.CLEAN
        return _read_text(report, shared), code

    return respond(work, failure=answer_failure(shared.form))


@takes(
    "files", "config", "html", "sheet", "with_", "material", "extruder", "allow_outside", "full",
    "form", "colour",
)  # fmt: skip
def compare(
    files: TwoFilesArgument,
    config: ConfigsOption,
    shared: Shared,
    html: WantedPageOption = None,
    sheet: SheetsOfTablesOption = None,
) -> int:
    """Set two weighed tests side by side: drives, filaments, or one drive on two days.

    \b
    Examples:
      feedwright weigh compare small.csv big.csv --config printer.cfg
      feedwright weigh compare a.csv b.csv --config printer.cfg \\
        --sheet a.yaml --sheet b.yaml
      feedwright weigh compare may.csv june.csv --config printer.cfg --html change.html

    Tells how much more the second delivers in mm3/s before it under-extrudes, and how sure that
    is; errors of scale and filament that both share cancel. Then how evenly each delivers, tooth
    marks, and what comes out at each flow. Give --config and --sheet once for both tables, or
    once a table, in their order.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import compare_tests

        if html == STDOUT and shared.form is PlainFormat.JSON:
            problem = "--html - and --format json both go to stdout"
            raise UsageError(problem, "name a file for the page")
        replace = html is not None and may_replace(html)
        asks, sheets = asks_of(*config, shared=shared), tuple(sheet or ())
        report = compare_tests(files, config, asks, sheets=sheets, extruder=shared.extruder)
        complain_each(report.errors)
        page = _page(report, files, config, sheets) if html is not None and report.tests else ""
        if html is not None and html != STDOUT and page:
            write_page(html, page, replace=replace)
        code = Exit.FAULT if report.errors else Exit.CLEAN
        return page if html == STDOUT else shown(shared, report, _compared(shared)), code

    return respond(work, failure=answer_failure(shared.form))


def weigh() -> Command:
    """Return the group of the commands."""
    words = "Plan, make piece by piece, read and compare weighed flow tests."
    commands = (
        ("plan", plan, PLAN_EPILOG),
        ("next", next_, NEXT_EPILOG),
        ("read", read, READ_EPILOG),
        ("compare", compare, COMPARE_EPILOG),
    )
    return group_of("weigh", words, commands)


def _page(
    report: WeighCompareAnswer, files: list[str], configs: list[str], sheets: tuple[str, ...]
) -> str:
    """Return the page, with the command that makes it again."""
    from shlex import quote

    from advisor.base import __version__
    from advisor.report import render_weigh_compare

    words = ["feedwright", "weigh", "compare", *files]
    words += [word for one in configs for word in ("--config", one)]
    words += [word for one in sheets for word in ("--sheet", one)]
    command = f"{' '.join(map(quote, words))} --html FILE"
    return render_weigh_compare(report, command=command, version=__version__)


def _compared(shared: Shared) -> Callable[[WeighCompareAnswer, Look], str]:
    def text(report: WeighCompareAnswer, look: Look) -> str:
        from advisor.report import weigh_compare_text

        return weigh_compare_text.render(report, look, full=shared.full)

    return text


def _next_text(shared: Shared) -> Callable[[WeighNextAnswer, Look], str]:
    def text(report: WeighNextAnswer, look: Look) -> str:
        from advisor.report import weigh_next_text

        return weigh_next_text.render(report, look, full=shared.full)

    return text


def _plan_text(report: PlanReport, shared: Shared) -> str:
    if shared.form is PlainFormat.JSON:
        from advisor.report import as_json
        from advisor.weigh import plan_in_trade

        return as_json(plan_in_trade(report))
    from advisor.report import look_for, weigh_text

    look = look_for(sys.stdout, shared.colour.value)
    return weigh_text.render_plan(report, look, full=shared.full)


def _read_text(report: WeighReport, shared: Shared) -> str:
    if shared.form is PlainFormat.JSON:
        from advisor.report import as_json
        from advisor.weigh import read_in_trade

        return as_json(read_in_trade(report))
    from advisor.report import look_for, weigh_text

    look = look_for(sys.stdout, shared.colour.value)
    return weigh_text.render_read(report, look, full=shared.full)
