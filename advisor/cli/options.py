"""The options that commands share, each defined once; a command takes its own from the table."""
# no __future__ annotations: a command's options are read off the table's annotations

import dataclasses
import enum
import inspect
from collections.abc import Callable
from typing import Annotated

import typer

from advisor.base import frozen

__all__ = [
    "CapsOption",
    "Colour",
    "ConfigArgument",
    "ConfigsArgument",
    "DiffFormatOption",
    "FailOn",
    "FailOnOption",
    "FailOnPageOption",
    "FilamentOption",
    "GcodeOption",
    "LintFormat",
    "LintFormatOption",
    "PageOption",
    "PlainFormat",
    "Shared",
    "SheetOfMotorOption",
    "SheetsOfTablesOption",
    "SheetsSideBySideOption",
    "TableFormat",
    "TableFormatOption",
    "WantedPageOption",
    "takes",
]


class LintFormat(enum.StrEnum):
    """How `lint` writes its report."""

    TEXT = "text"
    JSON = "json"
    SARIF = "sarif"


class TableFormat(enum.StrEnum):
    """How `compare` writes its table."""

    TEXT = "text"
    JSON = "json"
    CSV = "csv"


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


@frozen
class Shared:
    """The table of shared options, and what a command line gave of them; None where not given."""

    sheet: Annotated[
        str | None,
        typer.Option(
            "--sheet",
            metavar="FILE",
            help="Hardware sheet (YAML). [default: hardware.yaml beside the config, if there]",
            show_default=False,
        ),
    ] = None
    with_: Annotated[
        list[str] | None,
        typer.Option(
            "--with",
            metavar="FIELD=VALUE",
            help="Field of the hardware sheet, as if it stood there: hotend.class=long; may be "
            "given several times, and goes before the sheet.",
            show_default=False,
        ),
    ] = None
    profile: Annotated[
        list[str] | None,
        typer.Option(
            "--profile",
            metavar="FILE",
            help="Slicer profile whose flow is requested; may be given several times.",
            show_default=False,
        ),
    ] = None
    preset: Annotated[
        list[str] | None,
        typer.Option(
            "--preset",
            metavar="NAME",
            help="Preset to take from a profile that holds several; may be given several times.",
            show_default=False,
        ),
    ] = None
    parents: Annotated[
        list[str] | None,
        typer.Option(
            "--parents",
            metavar="FOLDER",
            help="Folder in which to look for the profile a profile inherits from; may be given "
            "several times. [default: beside the profile]",
            show_default=False,
        ),
    ] = None
    print_: Annotated[
        str | None,
        typer.Option(
            "--print",
            metavar="FILE",
            help="Sliced print (G-code) whose flow is requested.",
            show_default=False,
        ),
    ] = None
    material: Annotated[
        str | None,
        typer.Option(
            "--material",
            metavar="NAME",
            help="Filament material, e.g. pla, petg, tpu-95a. [default: the sheet's, else pla]",
            show_default=False,
        ),
    ] = None
    temperature: Annotated[
        str | None,
        typer.Option(
            "--temperature",
            metavar="TEMP",
            help="Nozzle temperature: 230degC. [default: the sheet's]",
            show_default=False,
        ),
    ] = None
    asked: Annotated[
        str | None,
        typer.Option(
            "--asked",
            metavar="FLOW",
            help="Requested flow: 24mm3/s, a line ('120mm/s x 0.45 x 0.2'), 0.9g/min, "
            "or 10mm/s of filament. "
            "[default: what sheet and profile request]",
            show_default=False,
        ),
    ] = None
    weighed: Annotated[
        list[str] | None,
        typer.Option(
            "--weighed",
            metavar="FILE",
            help="Table of a weighed flow test (see weigh plan) that narrows the answer; may be "
            "given several times.",
            show_default=False,
        ),
    ] = None
    skip_test: Annotated[
        list[str] | None,
        typer.Option(
            "--skip-test",
            metavar="FILE",
            help="Table of a skip test (see skip-test plan) that narrows the answer; may be given "
            "several times.",
            show_default=False,
        ),
    ] = None
    tests: Annotated[
        str | None,
        typer.Option(
            "--tests",
            metavar="FOLDER",
            help="Folder of weighed tests that are kept; those that fit the machine are used. "
            "[default: flow-tests beside the config, if there]",
            show_default=False,
        ),
    ] = None
    no_tests: Annotated[
        bool, typer.Option("--no-tests", help="Leave weighed tests out that are kept in a folder.")
    ] = False
    draws: Annotated[
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
    ] = None
    extruder: Annotated[
        str | None,
        typer.Option(
            "--extruder",
            metavar="NAME",
            help="Extruder section to look at. [default: the first]",
            show_default=False,
        ),
    ] = None
    allow_outside: Annotated[
        list[str] | None,
        typer.Option(
            "--allow-outside",
            metavar="FOLDER",
            help="Folder that counts as the config's own, for what includes, sheets and profiles "
            "refer to; may be given several times. [default: none]",
            show_default=False,
        ),
    ] = None
    no_allow: Annotated[
        bool,
        typer.Option(
            "--no-allow",
            help="Show also what comments and the sheet allow "
            "('# feedwright: allow rule, reason').",
        ),
    ] = False
    full: Annotated[
        bool, typer.Option("--full", help="Show all of it, not just what fits one screen.")
    ] = False
    form: Annotated[
        PlainFormat,
        typer.Option(
            "--format", help="Form of the answer on stdout. [default: text]", show_default=False
        ),
    ] = PlainFormat.TEXT
    colour: Annotated[
        Colour,
        typer.Option(
            "--color",
            help="Use colour; auto: in a terminal, unless NO_COLOR is set. [default: auto]",
            show_default=False,
        ),
    ] = Colour.AUTO


def takes(*names: str) -> Callable[[Callable[..., int]], Callable[..., int]]:
    """Let a command take options of the table, which it gets as one record, `shared`.

    Parameters
    ----------
    *names : str
        All parameters of the command in the order of its help: those that its function has are its
        own, the others are of the table.

    Raises
    ------
    KeyError
        For a name that neither has.
    """

    def wrap(command: Callable[..., int]) -> Callable[..., int]:
        own = dict(inspect.signature(command, eval_str=True).parameters)
        del own["shared"]

        def run(**given: object) -> int:
            mine = {name: given.pop(name) for name in own}
            return command(**mine, shared=_shared(**given))

        run.__name__, run.__doc__ = command.__name__, command.__doc__
        whole = [own[name] if name in own else _of_table(name) for name in names]
        named = [one.replace(kind=inspect.Parameter.KEYWORD_ONLY) for one in whole]
        vars(run)["__signature__"] = inspect.Signature(named)
        return run

    return wrap


def _of_table(name: str) -> inspect.Parameter:
    option = _TABLE[name]
    kind = inspect.Parameter.KEYWORD_ONLY
    return inspect.Parameter(name, kind, default=option.default, annotation=option.type)


_TABLE = {option.name: option for option in dataclasses.fields(Shared)}
_shared: Callable[..., Shared] = Shared  # of values as they were read, whatever their types

# Flags of the same name that say another thing where they stand: one line of help would be wrong.

GcodeOption = Annotated[
    str | None,
    typer.Option(
        "--gcode",
        metavar="FILE",
        help="Write the G-code of what is planned to a new FILE.",
        show_default=False,
    ),
]
SheetsSideBySideOption = Annotated[
    list[str] | None,
    typer.Option(
        "--sheet",
        metavar="FILE",
        help="Hardware sheet of one machine; give it once for each. "
        "[default: hardware.yaml beside the config, if there]",
        show_default=False,
    ),
]
ConfigOfTestOption = Annotated[
    str,
    typer.Option(
        "--config", metavar="CONFIG", help="Config of the machine tested.", show_default=False
    ),
]
TableOption = Annotated[
    str | None,
    typer.Option(
        "--csv",
        metavar="FILE",
        help="Write the table to fill in to a new FILE.",
        show_default=False,
    ),
]
SheetsOfTablesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--sheet",
        metavar="FILE",
        help="Hardware sheet; several drives: one a table, in their order.",
        show_default=False,
    ),
]
_PAGE = typer.Option(
    "--html",
    metavar="FILE",
    help="Where the page goes; - for stdout. An earlier page is replaced, another file never.",
    show_default=False,
)
PageOption = Annotated[str, _PAGE]
WantedPageOption = Annotated[str | None, _PAGE]
CapsOption = Annotated[
    str | None,
    typer.Option(
        "--caps",
        metavar="FLOWS",
        help="Tell the time with every flow held to these: 8..30mm3/s, or 8,12,20mm3/s.",
        show_default=False,
    ),
]
SheetOfMotorOption = Annotated[
    str | None,
    typer.Option(
        "--sheet",
        metavar="FILE",
        help="Hardware sheet (YAML) with motor, mount and air; options go before it.",
        show_default=False,
    ),
]
FilamentOption = Annotated[
    str | None,
    typer.Option(
        "--material",
        metavar="NAME",
        help="Filament, to tell how warm its drive gear gets; it sets no current.",
        show_default=False,
    ),
]
LintFormatOption = Annotated[
    LintFormat,
    typer.Option(
        "--format", help="Form of the report on stdout. [default: text]", show_default=False
    ),
]
TableFormatOption = Annotated[
    TableFormat,
    typer.Option(
        "--format", help="Form of the answer on stdout. [default: text]", show_default=False
    ),
]
DiffFormatOption = Annotated[
    PlainFormat,
    typer.Option(
        "--format",
        help="text: the diff on stdout; json: one object instead. [default: text]",
        show_default=False,
    ),
]
FailOnOption = Annotated[
    FailOn,
    typer.Option(
        "--fail-on",
        help="Mildest level that makes the exit code 1. [default: error]",
        show_default=False,
    ),
]
FailOnPageOption = Annotated[
    FailOn,
    typer.Option(
        "--fail-on",
        help="Mildest level that makes the exit code 1. [default: never]",
        show_default=False,
    ),
]
