"""`feedwright session`: the page at the machine for a speed-tuning session."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import SessionReport
from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import answer

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
    "config", "widths", "heights", "materials", "temperatures", "profile", "preset", "parents",
    "weighed", "draws", "sheet", "with_", "material", "extruder", "allow_outside", "full", "form",
    "colour",
)  # fmt: skip
def session(
    config: ConfigArgument,
    shared: Shared,
    widths: WidthsOption = None,
    heights: HeightsOption = None,
    materials: MaterialsOption = None,
    temperatures: TemperaturesOption = None,
) -> int:
    """Show the page for a session at the machine: speeds, limits, steps.

    \b
    Examples:
      feedwright session printer.cfg
      feedwright session printer.cfg --profile fast.ini --weighed flow-test.csv
      feedwright session printer.cfg --widths 0.4,0.45,0.6 --heights 0.1..0.3:3
      feedwright session printer.cfg --materials petg,abs --temperatures 220..260:3

    Speed ceilings in mm/s for each line, the cap in mm3/s by filament and temperature, whether
    advance and retracts keep the motor inside its torque and trusted speed, the largest
    acceleration in mm/s2 at which they do, currents and case, and the steps in their order with
    what to see and when to stop. --full tells how each step is done.
    """

    def made() -> SessionReport:
        from advisor.answers import SessionTexts, tuning_session

        texts = SessionTexts(widths, heights, tuple(materials or ()), temperatures)
        return tuning_session(
            config, asks_of(config, shared=shared), texts, extruder=shared.extruder
        )

    def text(report: SessionReport, look: Look) -> str:
        from advisor.report import session_text

        return session_text.render(report, look, full=shared.full)

    return answer(shared, made, text, _exit_code)


def _exit_code(report: SessionReport) -> Exit:
    return Exit.CLEAN if report.inside else Exit.FINDINGS
