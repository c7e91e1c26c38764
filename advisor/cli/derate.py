"""`feedwright derate`: the current to set for a motor's rating; no arithmetic, no rule text."""

from __future__ import annotations

import enum
import sys
from typing import Annotated

import typer

from advisor.cli.exits import Exit
from advisor.cli.options import Colour, ColourOption, PlainFormat
from advisor.cli.outcome import answer_failure, respond

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
    str,
    typer.Argument(
        metavar="RATING", help="Rated current per phase, with its unit: 1.0A.", show_default=False
    ),
]
BasisOption = Annotated[
    Basis,
    typer.Option(
        "--basis",
        help="What the rating means; unsure is treated as peak, and said. [default: unsure]",
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
        help="Air temperature at the motor, with its unit: 45degC. [default: 25degC, as a band]",
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
FormatOption = Annotated[
    PlainFormat,
    typer.Option(
        "--format", help="Form of the answer on stdout. [default: text]", show_default=False
    ),
]


def derate(
    rating: RatingArgument,
    basis: BasisOption = Basis.UNSURE,
    share: ShareOption = None,
    ambient: AmbientOption = None,
    mount: MountOption = None,
    driver: DriverOption = None,
    sense_resistor: ResistorOption = None,
    form: FormatOption = PlainFormat.TEXT,
    colour: ColourOption = Colour.AUTO,
) -> int:
    """Work out the RMS current to set for a motor's rating.

    \b
    Examples:
      feedwright derate 1.0A
      feedwright derate 1.0A --basis peak --ambient 45degC --mount petg
      feedwright derate 1.5A --driver tmc2209 --sense-resistor 0.11ohm

    Shows the current to set in A RMS, what the driver then applies, how hot winding and case
    get in degC, and what the two readings of the rating differ by.
    """

    def work() -> tuple[str, Exit]:
        from advisor.lint.derate import derate as work_out

        report = work_out(
            rating,
            basis=basis.value,
            share=share,
            ambient=ambient,
            mount=mount,
            driver=driver,
            sense_resistor=sense_resistor,
        )
        if form is PlainFormat.JSON:
            from advisor.report import json

            return json.render_derate(report), Exit.CLEAN
        from advisor.report import derate_text
        from advisor.report.look import look_for

        return derate_text.render(report, look_for(sys.stdout, colour.value)), Exit.CLEAN

    return respond(work, failure=answer_failure(form))
