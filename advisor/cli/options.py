"""Options that several commands share, each defined once."""

from __future__ import annotations

import enum
from typing import Annotated

import typer

__all__ = [
    "AllowOutsideOption",
    "AnswerFormat",
    "AskedOption",
    "Colour",
    "ColourOption",
    "ConfigArgument",
    "ConfigsArgument",
    "DrawsOption",
    "ExtruderOption",
    "FailOn",
    "FullOption",
    "LintFormat",
    "MaterialOption",
    "NoAllowOption",
    "ParentsOption",
    "PlainFormat",
    "PresetOption",
    "PrintOption",
    "ProfileOption",
    "SheetOption",
    "WeighedOption",
    "WithOption",
]


class LintFormat(enum.StrEnum):
    """How `lint` writes its report."""

    TEXT = "text"
    JSON = "json"
    SARIF = "sarif"


class PlainFormat(enum.StrEnum):
    """How the other commands write their answer."""

    TEXT = "text"
    JSON = "json"


class FailOn(enum.StrEnum):
    """The mildest level that makes the exit code 1."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"
    NEVER = "never"


class Colour(enum.StrEnum):
    """When to use colour."""

    AUTO = "auto"
    ALWAYS = "always"
    NEVER = "never"


ConfigArgument = Annotated[
    str,
    typer.Argument(
        metavar="CONFIG", help="Config file, or - for standard input.", show_default=False
    ),
]
ConfigsArgument = Annotated[
    list[str],
    typer.Argument(
        metavar="CONFIG...",
        help="Config file, folder of configs, or - for standard input.",
        show_default=False,
    ),
]
SheetOption = Annotated[
    str | None,
    typer.Option(
        "--sheet",
        metavar="FILE",
        help="Hardware sheet (YAML). [default: hardware.yaml beside the config, if there]",
        show_default=False,
    ),
]
WithOption = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="FIELD=VALUE",
        help="Field of the hardware sheet, as if it stood there: hotend.class=long; may be given "
        "several times, and goes before the sheet.",
        show_default=False,
    ),
]
ProfileOption = Annotated[
    list[str] | None,
    typer.Option(
        "--profile",
        metavar="FILE",
        help="Slicer profile that says what is asked; may be given several times.",
        show_default=False,
    ),
]
PresetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--preset",
        metavar="NAME",
        help="Preset to take from a profile that holds several; may be given several times.",
        show_default=False,
    ),
]
ParentsOption = Annotated[
    list[str] | None,
    typer.Option(
        "--parents",
        metavar="FOLDER",
        help="Folder in which to look for the profile a profile inherits from; may be given "
        "several times. [default: beside the profile]",
        show_default=False,
    ),
]
PrintOption = Annotated[
    str | None,
    typer.Option(
        "--print",
        metavar="FILE",
        help="Sliced print (G-code) whose sustained flow is what is asked.",
        show_default=False,
    ),
]
MaterialOption = Annotated[
    str | None,
    typer.Option(
        "--material",
        metavar="NAME",
        help="Filament material, e.g. pla, petg, tpu-95a. [default: the sheet's, else pla]",
        show_default=False,
    ),
]
AskedOption = Annotated[
    str | None,
    typer.Option(
        "--asked",
        metavar="FLOW",
        help="Flow asked of the extruder: 24mm3/s, a line ('120mm/s x 0.45 x 0.2'), 0.9g/min, or "
        "10mm/s of filament. "
        "[default: what sheet and profile ask]",
        show_default=False,
    ),
]
AllowOutsideOption = Annotated[
    list[str] | None,
    typer.Option(
        "--allow-outside",
        metavar="FOLDER",
        help="Folder that counts as the config's own, for what includes, sheets and profiles refer "
        "to; may be given several times. [default: none]",
        show_default=False,
    ),
]
NoAllowOption = Annotated[
    bool,
    typer.Option(
        "--no-allow",
        help="Show also what comments and the sheet allow ('# feedwright: allow rule, reason').",
    ),
]
ColourOption = Annotated[
    Colour,
    typer.Option(
        "--color",
        help="Use colour; auto: in a terminal, unless NO_COLOR is set. [default: auto]",
        show_default=False,
    ),
]
WeighedOption = Annotated[
    list[str] | None,
    typer.Option(
        "--weighed",
        metavar="FILE",
        help="Table of a weighed flow test (see weigh plan) that narrows the answer; may be given "
        "several times.",
        show_default=False,
    ),
]
DrawsOption = Annotated[
    int | None,
    typer.Option(
        "--draws",
        metavar="N",
        min=64,
        max=65536,
        help="Machines like this one that ranges are worked out for, 64 to 65536; fewer answer "
        "sooner, under 512 roughly. [default: 2048]",
        show_default=False,
    ),
]
ExtruderOption = Annotated[
    str | None,
    typer.Option(
        "--extruder",
        metavar="NAME",
        help="Extruder section to ask about. [default: the first]",
        show_default=False,
    ),
]
AnswerFormat = Annotated[
    PlainFormat,
    typer.Option(
        "--format", help="Form of the answer on stdout. [default: text]", show_default=False
    ),
]
FullOption = Annotated[
    bool, typer.Option("--full", help="Show all of it, not just what fits one screen.")
]
