"""`feedwright flow`: does the slicer ask for more than the extruder can deliver."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answers import FlowReport
from advisor.cli.asking import asks_of
from advisor.cli.exits import Exit
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import answer

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "flow"]

EPILOG = (
    "Exit codes: 0 it fits, or cannot be known; 1 the slicer asks for too much; 2 wrong usage; "
    "3 something could not be read, or an internal fault."
)


@takes(
    "config", "profile", "preset", "parents", "asked", "weighed", "draws", "sheet", "with_",
    "material", "extruder", "allow_outside", "form", "colour",
)  # fmt: skip
def flow(config: ConfigArgument, shared: Shared) -> int:
    """Tell whether the slicer asks for too much, and what to set.

    \b
    Examples:
      feedwright flow printer.cfg --profile filament.ini
      feedwright flow printer.cfg --profile filament.json --profile process.json
      feedwright flow printer.cfg --asked 24mm3/s --material petg

    Answers yes or no first, then by how much in mm3/s, how sure that is, which stage of the
    extruder gives out first, and the largest flow to set.
    """

    def made() -> FlowReport:
        from advisor.answers import flow as work_out

        return work_out(config, asks_of(config, shared=shared), extruder=shared.extruder)

    return answer(shared, made, _text, _exit_code)


def _text(report: FlowReport, look: Look) -> str:
    from advisor.report import flow_text

    return flow_text.render(report, look)


def _exit_code(report: FlowReport) -> Exit:
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
