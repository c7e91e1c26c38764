"""`feedwright lint`: check configs and report; no arithmetic, no rule text."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Annotated

import typer

from advisor.base import AdvisorError, FileStatus, Report
from advisor.cli.asking import STDIN, asks_of
from advisor.cli.options import (
    Colour,
    ConfigsArgument,
    FailOn,
    FailOnOption,
    LintFormat,
    LintFormatOption,
    Shared,
    takes,
)
from advisor.cli.outcome import findings_exit, respond
from advisor.cli.streams import Exit, complain

__all__ = ["EPILOG", "lint"]

EPILOG = (
    "Exit codes: 0 nothing at or above --fail-on; 1 findings; 2 wrong usage; 3 something could "
    "not be read, or an internal fault. The worst of all files wins."
)

StdinNameOption = Annotated[
    str,
    typer.Option(
        "--stdin-name",
        metavar="NAME",
        help="Name to show for standard input; includes are looked for beside it. [default: -]",
        show_default=False,
    ),
]


@takes(
    "configs", "sheet", "with_", "profile", "preset", "parents", "print_", "material", "asked",
    "weighed", "skip_test", "tests", "no_tests", "draws", "allow_outside", "no_allow", "full",
    "form", "fail_on", "colour", "stdin_name",
)  # fmt: skip
def lint(
    configs: ConfigsArgument,
    shared: Shared,
    form: LintFormatOption = LintFormat.TEXT,
    fail_on: FailOnOption = FailOn.ERROR,
    stdin_name: StdinNameOption = STDIN,
) -> int:
    """Check whether an extruder can do what it is set to do.

    \b
    Examples:
      feedwright lint printer.cfg
      feedwright lint printer.cfg --sheet hardware.yaml --asked 24mm3/s
      feedwright lint printer.cfg --profile fast.ini --fail-on warning
      feedwright lint - --format json < printer.cfg

    Says whether the requested flow fits, what the extruder can sustain in mm3/s, which of motor,
    grip, gap, melt zone and heater limits first, and what to change. One screen; --full shows all.
    Where something is seen already, such as clicks or thin lines: feedwright diagnose.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import check

        report = check(configs, asks_of(*configs, shared=shared, stdin_name=stdin_name))
        for error in report.errors:
            complain(error)
        shown = _render(report, form, shared.colour, full=shared.full)
        return shown, _exit_code(report, fail_on)

    return respond(work, failure=_failure(form))


def _render(report: Report, form: LintFormat, colour: Colour, *, full: bool = False) -> str:
    if form is LintFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    if form is LintFormat.SARIF:
        from advisor.report import sarif

        return sarif.render(report)
    from advisor.report import look_for, text

    return text.render(report, look_for(sys.stdout, colour.value), full=full)


def _failure(form: LintFormat) -> Callable[[AdvisorError | None, str], str] | None:
    """Return what makes a valid report of an error; None where the form is for people."""
    if form is LintFormat.TEXT:
        return None

    def made(error: AdvisorError | None, sentence: str) -> str:
        file = error.at.file if error is not None and error.at is not None else None
        files = (FileStatus(file, "unreadable"),) if file else ()
        return _render(Report(files=files, errors=(sentence,)), form, Colour.NEVER)

    return made


def _exit_code(report: Report, fail_on: FailOn) -> Exit:
    """A missing include is a finding, not a fault; a file that was asked for is one."""
    if report.errors or (report.files and not any(x.status == "read" for x in report.files)):
        return Exit.FAULT
    return findings_exit(report, fail_on)
