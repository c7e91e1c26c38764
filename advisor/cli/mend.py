"""`feedwright mend`: show or make the edits that fixes ask for; no arithmetic, no rule text."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import Asks
from advisor.base import UsageError
from advisor.cli.asking import asks_of
from advisor.cli.options import Colour, DiffFormatOption, PlainFormat, Shared, takes
from advisor.cli.outcome import answer_failure, respond
from advisor.cli.streams import Exit, complain, emit_bytes, read_line, tell

if TYPE_CHECKING:
    from advisor.answers import Edit, MendReport

__all__ = ["EPILOG", "mend"]

EPILOG = (
    "stdout is the diff and nothing else; what to know beside it goes to stderr. Exit codes: 0 "
    "nothing to edit, or written; 1 edits are shown and not written; 2 wrong usage; 3 something "
    "could not be read or written, or an internal fault. Edits never raise a current above the "
    "derated limit, nor a temperature. After a write: restart the firmware, and check with a slow "
    "feed first."
)
_REPLIES = {"y": "yes", "n": "no", "a": "all", "q": "quit"}

ConfigArgument = Annotated[
    str,
    typer.Argument(
        metavar="CONFIG", help="Config file, or a folder with one config.", show_default=False
    ),
]
WriteOption = Annotated[
    bool, typer.Option("--write", help="Write the edits of the config and its includes.")
]
WriteProfileOption = Annotated[
    bool,
    typer.Option(
        "--write-profile", help="Write the edits of the slicer profiles given (ini and JSON)."
    ),
]
OnlyOption = Annotated[
    list[str] | None,
    typer.Option(
        "--only",
        metavar="RULE",
        help="Make the edits of this rule alone; may be given several times.",
        show_default=False,
    ),
]
SkipOption = Annotated[
    list[str] | None,
    typer.Option(
        "--skip",
        metavar="RULE",
        help="Make no edit of this rule; may be given several times.",
        show_default=False,
    ),
]
InteractiveOption = Annotated[
    bool, typer.Option("--interactive", help="Ask for each edit: y, n, a (all) or q (none).")
]
UndoOption = Annotated[
    bool, typer.Option("--undo", help="Put back what the newest mend of these files replaced.")
]


@takes(
    "config", "sheet", "with_", "profile", "preset", "parents", "material", "asked", "weighed",
    "skip_test", "tests", "no_tests", "only", "skip", "write", "write_profile", "interactive",
    "undo", "allow_outside", "no_allow", "form", "colour",
)  # fmt: skip
def mend(
    config: ConfigArgument,
    shared: Shared,
    only: OnlyOption = None,
    skip: SkipOption = None,
    write: WriteOption = False,
    write_profile: WriteProfileOption = False,
    interactive: InteractiveOption = False,
    undo: UndoOption = False,
    form: DiffFormatOption = PlainFormat.TEXT,
) -> int:
    """Show the edits that fix what can be fixed, or make them.

    \b
    Examples:
      feedwright mend printer.cfg
      feedwright mend printer.cfg --write
      feedwright mend printer.cfg --profile filament.ini --write --write-profile
      feedwright mend printer.cfg --only run-current-above-derated > fix.diff
      feedwright mend printer.cfg --undo

    The edits are consistent together: a lower current lowers the torque, which lowers what the
    slicer may request. Currents in A RMS, flows in mm3/s. The diff is taken by patch -p1.
    """

    def work() -> tuple[str, Exit]:
        asks = asks_of(shared=shared)
        if undo:
            report = _undone(config, asks, others=bool(write or write_profile or interactive))
        else:
            report = _mended(
                config,
                asks,
                rules=(tuple(only or ()), tuple(skip or ())),
                writes=(write, write_profile),
                ask=_asker(shared.colour) if interactive else None,
            )
        for error in report.errors:
            complain(error)
        if form is PlainFormat.JSON:
            from advisor.report import as_json

            return as_json(report), _exit_code(report)
        whole = _show(report, shared.colour, _given(asks, only or (), skip or ()))
        return "", _exit_code(report) if whole else Exit.FAULT

    return respond(work, failure=answer_failure(form))


def _mended(
    config: str,
    asks: Asks,
    *,
    rules: tuple[tuple[str, ...], tuple[str, ...]],
    writes: tuple[bool, bool],
    ask: Callable[[Edit, int, int], str] | None,
) -> MendReport:
    from advisor.answers import choice_of, mend as work_out

    if writes[1] and not asks.profiles:
        raise UsageError("--write-profile needs a profile", "give --profile FILE")
    choice = choice_of(*rules)
    return work_out(config, asks, choice=choice, write=writes[0], write_profile=writes[1], ask=ask)


def _undone(config: str, asks: Asks, *, others: bool) -> MendReport:
    from advisor.answers import undo

    if others:
        raise UsageError("--undo goes with no other change", "give it alone")
    return undo(config, asks)


def _asker(colour: Colour) -> Callable[[Edit, int, int], str]:
    from advisor.report import look_for, mend_text

    def ask(edit: Edit, number: int, count: int) -> str:
        tell(mend_text.question(edit, number, count, look_for(sys.stderr, colour.value)))
        while True:
            line = read_line()
            reply = _REPLIES.get(line.strip().lower()[:1]) if line else "quit"
            if reply is not None:
                return reply
            tell("y, n, a or q\n")

    return ask


def _given(asks: Asks, only: Iterable[str], skip: Iterable[str]) -> tuple[str, ...]:
    """Return the options that decide which edits are made, as they are typed."""
    single = (
        ("--sheet", asks.sheet), ("--material", asks.material), ("--asked", asks.asked),
        ("--tests", asks.tests),
    )  # fmt: skip
    several = (
        ("--profile", asks.profiles), ("--preset", asks.presets), ("--parents", asks.parents),
        ("--with", asks.fields), ("--weighed", asks.weighed), ("--skip-test", asks.skip_tests),
        ("--allow-outside", asks.outside),
        ("--only", only), ("--skip", skip),
    )  # fmt: skip
    pairs = [(name, value) for name, value in single if value is not None]
    pairs += [(name, value) for name, values in several for value in values]
    words = [word for pair in pairs for word in pair]
    words += [] if asks.use_tests else ["--no-tests"]
    return (*words, *(() if asks.allow else ("--no-allow",)))


def _show(report: MendReport, colour: Colour, given: tuple[str, ...]) -> bool:
    """Write diff and summary, each to its stream; return whether all of the diff was taken."""
    from advisor.report import look_for, mend_text

    whole = emit_bytes(report.patch)
    _warn_of_controls(report.patch)
    if report.undone or any(file.status == "read" for file in report.files):
        look = look_for(sys.stderr, colour.value)
        tell(mend_text.render(report, look, arguments=(report.config, *given)))
    return whole


def _warn_of_controls(patch: bytes) -> None:
    """Say that a diff holds bytes of the file's that would drive a terminal; a diff is exact."""
    from advisor.report import controls

    count = controls(patch)
    if not count:
        return
    if sys.stdout is not None and sys.stdout.isatty():
        fate = "they are shown as escapes here; to apply the diff, send it to a file"
    else:
        fate = "they are copied as they are; look at the diff with 'cat -v'"
    signs = f"{count} control characters" if count > 1 else "a control character"
    complain(f"the diff holds {signs} of the file (a terminal may obey such); {fate}")


def _exit_code(report: MendReport) -> Exit:
    if report.errors:
        return Exit.FAULT
    waiting = report.edits and not report.written
    return Exit.FINDINGS if waiting else Exit.CLEAN
