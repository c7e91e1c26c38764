"""`feedwright grip`: what the gears do to the filament, by material and size of gears."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import GripReport
from advisor.cli.asking import asks_of
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import answer
from advisor.cli.streams import Exit

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "grip"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage; 3 something could not be read, or an internal fault."
)

BesideOption = Annotated[
    list[str] | None,
    typer.Option(
        "--beside",
        metavar="NAME",
        help="Material to show beside the machine's own; may be given several times. "
        "[default: all of the catalogue]",
        show_default=False,
    ),
]


@takes(
    "config", "beside", "sheet", "with_", "profile", "preset", "parents", "material", "asked",
    "weighed", "skip_test", "tests", "no_tests", "extruder", "allow_outside", "full", "form",
    "colour",
)  # fmt: skip
def grip(config: ConfigArgument, shared: Shared, beside: BesideOption = None) -> int:
    """Show how close the gears are to slipping on the filament.

    \b
    Examples:
      feedwright grip printer.cfg
      feedwright grip printer.cfg --asked 12mm3/s --beside tpu-95a --beside petg
      feedwright grip printer.cfg --material pla-soft

    The push needed at one flow (mm3/s) is set against the force at which the filament slips, for
    this filament, the softest and the usual ones, in these drive gears and the next sizes; --full
    has all. Soft filament and small gears slip first.
    """

    def made() -> GripReport:
        from advisor.answers import grip_answer

        asks = asks_of(config, shared=shared)
        return grip_answer(config, asks, extruder=shared.extruder, materials=tuple(beside or ()))

    def text(report: GripReport, look: Look) -> str:
        from advisor.report import grip_text

        return grip_text.render(report, look, full=shared.full)

    return answer(shared, made, text, lambda _: Exit.CLEAN)
