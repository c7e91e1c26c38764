"""`feedwright torque`: torque against speed, what needs it, and which motor would serve."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answers import TorqueReport
from advisor.cli.asking import asks_of
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import answer
from advisor.cli.streams import Exit

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "torque"]

EPILOG = (
    "Exit codes: 0 the torque is enough, or cannot be known; 1 something requested needs more "
    "than the usable torque; 2 wrong usage; 3 something could not be read, or an internal fault."
)


@takes(
    "config", "sheet", "with_", "profile", "preset", "parents", "print_", "material", "asked",
    "weighed", "skip_test", "tests", "no_tests", "extruder", "allow_outside", "full", "form",
    "colour",
)  # fmt: skip
def torque(config: ConfigArgument, shared: Shared) -> int:
    """Show torque against speed, and which motor would do.

    \b
    Examples:
      feedwright torque printer.cfg
      feedwright torque printer.cfg --profile fast.ini
      feedwright torque printer.cfg --asked 24mm3/s --sheet hardware.yaml

    Feeds, pressure advance and retracts are set against the usable torque at their speed, in
    mN m at the motor; then which motor would do at 12, 24 and 48 V. --full adds the curve.
    """

    def made() -> TorqueReport:
        from advisor.answers import torque_answer

        return torque_answer(config, asks_of(config, shared=shared), extruder=shared.extruder)

    def text(report: TorqueReport, look: Look) -> str:
        from advisor.report import torque_text

        return torque_text.render(report, look, full=shared.full)

    return answer(shared, made, text, _exit_code)


def _exit_code(report: TorqueReport) -> Exit:
    return Exit.FINDINGS if report.enough is False else Exit.CLEAN
