"""`feedwright session`: the page at the machine for a speed-tuning session."""

from __future__ import annotations

from collections.abc import Callable
from shlex import quote
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import Asks, SessionReport, SessionTexts
from advisor.base import UsageError, __version__
from advisor.cli.asking import asks_of
from advisor.cli.options import ConfigArgument, PlainFormat, Shared, WantedPageOption, takes
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.output_files import STDOUT, may_replace, write_page
from advisor.cli.streams import Exit, complain

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "session"]

EPILOG = (
    "Exit codes: 0 the session can begin; 1 something is to be changed first, or advance or a "
    "retract is outside of what the motor can do; 2 wrong usage; 3 something could not be read or "
    "written, or an internal fault."
)

WidthsOption = Annotated[
    str | None,
    typer.Option(
        "--widths",
        metavar="LIST",
        help="Line widths in mm: 0.4,0.45,0.6 or 0.4..0.6:3. [default: the profile's, else usual "
        "ones]",
        show_default=False,
    ),
]
HeightsOption = Annotated[
    str | None,
    typer.Option(
        "--heights",
        metavar="LIST",
        help="Layer heights in mm: 0.1..0.3:3. [default: the profile's, else usual ones]",
        show_default=False,
    ),
]
MaterialsOption = Annotated[
    list[str] | None,
    typer.Option(
        "--materials",
        metavar="LIST",
        help="Filaments beside the machine's own: petg,abs. [default: usual ones]",
        show_default=False,
    ),
]
TemperaturesOption = Annotated[
    str | None,
    typer.Option(
        "--temperatures",
        metavar="LIST",
        help="Nozzle temperatures in degC: 210,230 or 200..260:4. [default: the machine's own and "
        "each 20 degC]",
        show_default=False,
    ),
]


@takes(
    "config", "html", "widths", "heights", "materials", "temperatures", "profile", "preset",
    "parents", "weighed", "skip_test", "tests", "no_tests", "draws", "sheet", "with_",
    "material", "extruder", "allow_outside", "full", "form", "colour",
)  # fmt: skip
def session(
    config: ConfigArgument,
    shared: Shared,
    html: WantedPageOption = None,
    widths: WidthsOption = None,
    heights: HeightsOption = None,
    materials: MaterialsOption = None,
    temperatures: TemperaturesOption = None,
) -> int:
    """Show the page for a session at the machine: speeds, limits, steps.

    \b
    Examples:
      feedwright session printer.cfg
      feedwright session printer.cfg --profile fast.ini --html session.html
      feedwright session printer.cfg --widths 0.4,0.45,0.6 --heights 0.1..0.3:3
      feedwright session printer.cfg --materials petg --temperatures 220..260:3

    Speed ceilings in mm/s for each line, the cap in mm3/s by filament and temperature, whether
    advance and retracts keep the motor inside its torque and trusted speed, the largest
    acceleration in mm/s2 at which they do, currents and case, and the steps in their order with
    what to see and when to stop. --full tells how each step is done.
    """
    texts = SessionTexts(widths, heights, tuple(materials or ()), temperatures)

    def work() -> tuple[str, Exit]:
        asks = asks_of(config, shared=shared)
        return _answered(config, asks, texts, html, shared)

    return respond(work, failure=answer_failure(shared.form))


def _answered(
    config: str, asks: Asks, texts: SessionTexts, html: str | None, shared: Shared
) -> tuple[str, Exit]:
    from advisor.answers import tuning_session

    if html == STDOUT and shared.form is PlainFormat.JSON:
        raise UsageError("--html - and --format json both go to stdout", "name a file for the page")
    replace = html is not None and may_replace(html)
    report = tuning_session(config, asks, texts, extruder=shared.extruder)
    for error in report.errors:
        complain(error)
    page = _page(report, config, asks, texts, shared) if html is not None else ""
    if html is not None and not page:
        complain("no page was written: there is nothing to show; name the root config")
    elif html is not None and html != STDOUT:
        write_page(html, page, replace=replace)
    text = page if html == STDOUT else shown(shared, report, _text(shared, html if page else None))
    return text, Exit.FAULT if report.errors else _exit_code(report)


def _text(shared: Shared, written: str | None) -> Callable[[SessionReport, Look], str]:
    def text(report: SessionReport, look: Look) -> str:
        from advisor.report import session_text

        return session_text.render(report, look, full=shared.full, written=written)

    return text


def _page(
    report: SessionReport, config: str, asks: Asks, texts: SessionTexts, shared: Shared
) -> str:
    """Return the page, with the command that makes it again; nothing where there is no extruder."""
    if report.extruder is None:
        return ""
    from advisor.answers import typed
    from advisor.report import render_session

    own = {
        "--widths": texts.widths,
        "--heights": texts.heights,
        "--materials": ",".join(texts.materials) or None,
        "--temperatures": texts.temperatures,
        "--extruder": shared.extruder,
    }
    mine = [word for name, value in own.items() if value is not None for word in (name, value)]
    words = ["feedwright", "session", config, *typed(asks), *mine, "--html"]
    command = f"{' '.join(map(quote, words))} FILE"
    return render_session(report, command=command, version=__version__)


def _exit_code(report: SessionReport) -> Exit:
    return Exit.CLEAN if report.inside else Exit.FINDINGS
