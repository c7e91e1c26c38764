"""`feedwright sheet`: a hardware sheet for a config, to fill in or by questions."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import Asks
from advisor.base import InputError, UsageError
from advisor.cli.asking import asks_of
from advisor.cli.options import ConfigArgument, Shared, takes
from advisor.cli.outcome import respond
from advisor.cli.streams import Exit, complain, emit, tell
from advisor.report import plain

if TYPE_CHECKING:
    from advisor.answers import Interview
    from advisor.report import Look

__all__ = ["EPILOG", "sheet"]

EPILOG = (
    "Exit codes: 0 written; 2 wrong usage; 3 something could not be read or written, or an "
    "internal fault; 130 interrupted: what was answered until then is written."
)

InteractiveOption = Annotated[
    bool,
    typer.Option(
        "--interactive",
        help="Ask on stderr for what narrows the answer most, and write the sheet of the answers.",
    ),
]
OutOption = Annotated[
    str | None,
    typer.Option(
        "--out",
        metavar="FILE",
        help="File to write. One that is there is replaced only where you say so when asked. "
        "[default: stdout]",
        show_default=False,
    ),
]


@takes(
    "config", "sheet", "with_", "profile", "material", "extruder", "allow_outside", "full",
    "interactive", "out",
)  # fmt: skip
def sheet(
    config: ConfigArgument,
    shared: Shared,
    interactive: InteractiveOption = False,
    out: OutOption = None,
) -> int:
    """Write a hardware sheet, to fill in or by questions.

    \b
    Examples:
      feedwright sheet printer.cfg > hardware.yaml
      feedwright sheet printer.cfg --sheet old.yaml --material petg
      feedwright sheet printer.cfg --interactive --out hardware.yaml

    What is known is filled in, what matters most comes first, on one screen; --full has every
    field, with what is taken meanwhile and how to find it out.
    """

    def work() -> tuple[str, Exit]:
        asks = asks_of(*(() if interactive else (config,)), shared=shared)
        if interactive:
            return "", _by_questions(config, asks, shared.extruder, out)
        return _starter(config, asks, shared.extruder, out, full=shared.full)

    return respond(work)


def _starter(
    config: str, asks: Asks, extruder: str | None, out: str | None, *, full: bool
) -> tuple[str, Exit]:
    from advisor.answers import starter_sheet

    if out is None:
        return starter_sheet(config, asks, extruder=extruder, full=full), Exit.CLEAN
    from advisor.files import exists, write_out

    if exists(out):
        remedy = "name another file; only --interactive asks whether to replace one"
        raise UsageError(f"--out: there is a file '{out}'", remedy)
    write_out(out, starter_sheet(config, asks, extruder=extruder, full=full), replace=False)
    return "", Exit.CLEAN


def _by_questions(config: str, asks: Asks, extruder: str | None, out: str | None) -> Exit:
    from advisor.answers import Interview
    from advisor.cli import conversation
    from advisor.report import questions_text

    if config == "-":
        raise UsageError("the answers come on standard input", "name the config file")
    look = conversation.narrow()
    interview = Interview(config, asks, extruder=extruder)
    _refuse_own_sheet(interview)
    conversation.take_any_bytes()
    with conversation.hang_up_is_ctrl_c():
        out, replace = _agreed(out, interview.sheet_file)
        ending = conversation.Ending.INTERRUPTED  # also where a fault of ours ends it
        try:
            ending = conversation.ask_all(
                interview, questions_text, lambda: questions_text.standing(interview, look), look
            )
        finally:
            interrupted = ending is conversation.Ending.INTERRUPTED
            with conversation.undisturbed():
                code = _write(config, interview, look, out, replace=replace, cut=interrupted)
    return code


def _refuse_own_sheet(interview: Interview) -> None:
    """Refuse to write the sheet behind the one that it was read from ('>> hardware.yaml')."""
    path = interview.sheet_file
    try:
        same = path is not None and os.path.samestat(os.stat(path), os.fstat(sys.stdout.fileno()))
    except (OSError, ValueError, AttributeError):
        return
    if path is not None and same and os.path.getsize(path):
        raise UsageError(f"stdout goes to '{path}', which is read", f"write --out {path}")


def _agreed(out: str | None, read: str | None) -> tuple[str | None, bool]:
    """Return the file to write (None: stdout), and whether one that is there is replaced.

    Raises
    ------
    UsageError
        If it is neither the sheet that is read nor one that we wrote.
    """
    from advisor.cli.conversation import confirmed
    from advisor.files import begins_with, earlier, exists

    if out is None or not exists(out):
        return out, False
    same = _is_same(out, read)
    if not same:
        from advisor.report import TITLE

        earlier(out, option="--out", ours=begins_with(f"# {TITLE}"), what="sheet of feedwright")
    kept = "its values are kept, its comments are not" if same else "nothing of it is kept"
    tell(f"'{plain(out)}' is there; if it is replaced, {kept}\n")
    if confirmed("replace it when the questions are through? y/n [n]: "):
        return out, True
    tell("it stays as it is; the sheet goes to stdout\n")
    return None, False


def _is_same(out: str, read: str | None) -> bool:
    try:
        return read is not None and os.path.samefile(out, read)
    except (OSError, ValueError):
        return False


def _write(
    config: str, interview: Interview, look: Look, out: str | None, *, replace: bool, cut: bool
) -> Exit:
    """Write the sheet to its file; where that cannot be, to stdout; else to stderr."""
    from advisor.report import questions_text

    if cut and not interview.answers:
        tell("nothing was answered; nothing is written\n")
        return Exit.INTERRUPTED
    text = interview.text(questions_text.heading(config, interview, look))
    over = out is not None and _is_same(out, interview.sheet_file)
    if out is not None and not _is_written(out, text, replace=replace, over_read=over):
        emit(text)
        return Exit.FAULT
    if out is None and not emit(text):
        tell(text)
        return Exit.FAULT
    tell(questions_text.closing(config, interview, out, look))
    return Exit.INTERRUPTED if cut else Exit.CLEAN


def _is_written(out: str, text: str, *, replace: bool, over_read: bool) -> bool:
    from advisor.files import write_out

    try:
        write_out(out, text, replace=replace, over_read=over_read)
    except (InputError, UsageError) as error:
        complain(f"{error}; the sheet goes to stdout")
        return False
    return True
