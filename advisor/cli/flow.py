"""`feedwright flow`: does the slicer request more than the extruder can deliver."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answers import FlowReport
from advisor.cli.asking import asks_of
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import answer
from advisor.cli.streams import Exit

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "flow"]

EPILOG = (
    "Exit codes: 0 it fits, or cannot be known; 1 the slicer requests too much; 2 wrong usage; "
    "3 something could not be read, or an internal fault."
)


@takes(
    "config", "profile", "preset", "parents", "asked", "weighed", "skip_test", "tests",
    "no_tests", "draws", "sheet", "with_", "material", "extruder", "allow_outside", "full",
    "form", "colour",
)  # fmt: skip
def flow(config: ConfigArgument, shared: Shared) -> int:
    """Tell whether the slicer requests too much, and which cap to set.

    \b
    Examples:
      feedwright flow printer.cfg --profile filament.ini
      feedwright flow printer.cfg --profile filament.json --profile process.json
      feedwright flow printer.cfg --asked 24mm3/s
      feedwright flow printer.cfg --material petg --with filament.temperature=240C

    Says yes or no first and how sure that is, then the largest flow to set in mm3/s, what part of
    the extruder limits first, and what helps. With no flow requested: the cap to set. One screen;
    --full shows all.
    """

    def made() -> FlowReport:
        from advisor.answers import flow as work_out

        return work_out(config, asks_of(config, shared=shared), extruder=shared.extruder)

    def text(report: FlowReport, look: Look) -> str:
        from advisor.report import flow_text

        return flow_text.render(report, look, full=shared.full)

    return answer(shared, made, text, _exit_code)


def _exit_code(report: FlowReport) -> Exit:
    return Exit.FINDINGS if report.exceeds else Exit.CLEAN
