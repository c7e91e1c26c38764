"""`feedwright derate`: the current to set for a motor's rating; no arithmetic, no rule text."""

from __future__ import annotations

import enum
import sys
from typing import Annotated

import typer

from advisor.answers import DerateReport
from advisor.cli.options import (
    FilamentOption,
    PlainFormat,
    Shared,
    SheetOfMotorOption,
    takes,
)
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import Exit

__all__ = ["EPILOG", "derate"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage; 3 something could not be read, or an internal fault. "
    "A motor gets hot: let it cool before you touch it, and follow its datasheet where it says "
    "otherwise."
)


class Basis(enum.StrEnum):
    """What the figure on the label means."""

    PEAK = "peak"
    RMS = "rms"
    UNSURE = "unsure"


RatingArgument = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[RATING]...",
        help="Rated current per phase: 1.0A, '1.0A peak'; several are compared. "
        "[default: the sheet's]",
        show_default=False,
    ),
]
BasisOption = Annotated[
    Basis | None,
    typer.Option(
        "--basis",
        help="What the rating means; unsure is treated as peak, and said. "
        "[default: the sheet's, or unsure]",
        show_default=False,
    ),
]
ShareOption = Annotated[
    str | None,
    typer.Option(
        "--share",
        metavar="SHARE",
        help="Share of the rated RMS current to use at most, 0 to 1. [default: the rulebook's]",
        show_default=False,
    ),
]
AmbientOption = Annotated[
    str | None,
    typer.Option(
        "--ambient",
        metavar="TEMP",
        help="Ambient at the motor, with its unit: 45degC. [default: 25degC, as a band]",
        show_default=False,
    ),
]
MountOption = Annotated[
    str | None,
    typer.Option(
        "--mount",
        metavar="NAME",
        help="Material of the motor mount: metal, pla, petg, abs, asa, pc.",
        show_default=False,
    ),
]
DriverOption = Annotated[
    str | None,
    typer.Option(
        "--driver",
        metavar="CHIP",
        help="Driver chip as named in the config; gives the current after its rounding.",
        show_default=False,
    ),
]
ResistorOption = Annotated[
    str | None,
    typer.Option(
        "--sense-resistor",
        metavar="OHM",
        help="Sense resistor of the driver, with its unit: 0.11ohm. [default: the chip's usual]",
        show_default=False,
    ),
]
ReferenceOption = Annotated[
    str | None,
    typer.Option(
        "--reference-resistor",
        metavar="KOHM",
        help="Reference resistor of a driver that has one, with its unit: 12kohm. "
        "[default: the chip's usual]",
        show_default=False,
    ),
]
MotorOption = Annotated[
    str | None,
    typer.Option(
        "--motor",
        metavar="NAME",
        help="Motor class: round-36, square-42-short, square-42-long. [default: by the rating]",
        show_default=False,
    ),
]


@takes(
    "rating", "basis", "share", "ambient", "mount", "driver", "sense_resistor",
    "reference_resistor", "material", "motor", "sheet", "with_", "full", "form", "colour",
)  # fmt: skip
def derate(
    shared: Shared,
    rating: RatingArgument = None,
    basis: BasisOption = None,
    share: ShareOption = None,
    ambient: AmbientOption = None,
    mount: MountOption = None,
    driver: DriverOption = None,
    sense_resistor: ResistorOption = None,
    reference_resistor: ReferenceOption = None,
    material: FilamentOption = None,
    motor: MotorOption = None,
    sheet: SheetOfMotorOption = None,
) -> int:
    """Work out the RMS current to set for a motor's rating.

    \b
    Examples:
      feedwright derate 1.0A
      feedwright derate 1.0A --basis peak --ambient 45degC --mount petg
      feedwright derate 1.5A --driver tmc2209 --sense-resistor 0.11ohm
      feedwright derate 0.8A 1.0A 1.2A --mount abs --ambient 45degC

    Shows the current to set in A RMS, the limit that sets it, torque and push left, and how warm
    the case gets in degC: after 10 minutes, after an hour, and when to stop.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import derate as work_out

        ratings: list[str | None] = [*rating] if rating else [None]
        reports = [
            work_out(
                one,
                basis=basis.value if basis is not None else None,
                share=share,
                ambient=ambient,
                mount=mount,
                driver=driver,
                sense_resistor=sense_resistor,
                reference_resistor=reference_resistor,
                material=material,
                motor=motor,
                sheet=sheet,
                fields=tuple(shared.with_ or ()),
            )
            for one in ratings
        ]
        return _render(reports, shared), Exit.CLEAN

    return respond(work, failure=answer_failure(shared.form))


def _render(reports: list[DerateReport], shared: Shared) -> str:
    if shared.form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(tuple(reports) if len(reports) > 1 else reports[0])
    from advisor.report import derate_text, look_for

    look = look_for(sys.stdout, shared.colour.value)
    if len(reports) > 1:
        return derate_text.render_several(reports, look)
    return derate_text.render(reports[0], look, full=shared.full)
