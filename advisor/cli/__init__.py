"""The command line: options, streams and exit codes; no arithmetic and no rule text."""

from __future__ import annotations

import contextlib
import gc
import os
import re
import signal
import sys
from collections.abc import Sequence
from typing import NoReturn

__all__ = ["main", "run"]

NAME = "feedwright"
_INTERRUPTED = 130  # 128 and the number of the signal, POSIX shells
_SHOWING = frozenset({"-h", "--help", "--version"})


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and return its exit code.

    Parameters
    ----------
    argv : sequence of str, optional
        The arguments after the program's name; by default those of the process.
    """
    from advisor.cli.streams import Exit, emit
    from advisor.files import forget

    forget()
    arguments = list(sys.argv[1:] if argv is None else argv)
    showing = bool(_SHOWING & set(arguments))
    if sys.stdout is None and showing:
        emit("what was asked for")  # says that there is no stdout
        return Exit.FAULT
    collecting = gc.isenabled()
    gc.disable()  # a short run makes little garbage; looking for it costs start-up
    try:
        return _run(arguments)
    except KeyboardInterrupt:
        return Exit.INTERRUPTED
    except Exception as error:  # noqa: BLE001 - a fault must not look like a finding
        return _failed(error, showing=showing)
    finally:
        if collecting:
            gc.enable()


def _failed(error: Exception, *, showing: bool) -> int:
    """Say what went wrong outside the commands, and return the exit code."""
    from advisor.cli.outcome import internal_error
    from advisor.cli.streams import Exit, not_written

    told = getattr(error, "format_message", None)  # of the parser: a slip of the command line
    if told is not None:
        return _complain_of_usage(error, told())
    if type(error).__name__ == "Abort":
        return Exit.INTERRUPTED
    if showing and isinstance(error, OSError):  # the parser writes its help itself
        not_written(error)
    else:
        internal_error(error)
    return Exit.FAULT


def run() -> NoReturn:
    """Run the program as a process of its own: its report written, it leaves at once.

    Taking a numeric library down in order takes a tenth of a short run, and serves nobody. A Ctrl-C
    while the program is loaded ends it without a word: nothing was begun.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _leave)
    code = main()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            if stream is not None:
                stream.flush()
    os._exit(code)


def _leave(*_: object) -> NoReturn:
    """End the process at once, as a shell expects of a program that was interrupted."""
    os._exit(_INTERRUPTED)


def _run(arguments: list[str]) -> int:
    import typer

    from advisor.cli.app import app

    command = typer.main.get_command(app)
    if signal.getsignal(signal.SIGINT) is _leave:  # from here on what was begun is cleaned up
        signal.signal(signal.SIGINT, signal.default_int_handler)
    code = command.main(args=arguments, prog_name=NAME, standalone_mode=False)
    return int(code or 0)


def _complain_of_usage(error: Exception, message: str) -> int:
    """Say on stderr what is wrong with the command line and where its help is."""
    from advisor.cli.streams import Exit, complain

    if type(error).__name__ == "NoArgsIsHelpError":
        sys.stderr.write(f"{message}\n")
        return Exit.USAGE
    context = getattr(error, "ctx", None)
    path = context.command_path if context else NAME
    sentence = _sentence(message)
    instead = _INSTEAD.get(getattr(error, "option_name", None) or "", "")
    if instead:  # a better hint than what is spelt alike
        sentence = f"{sentence.partition(';')[0]}{instead}"
    complain(f"{sentence} (see {path} --help)")
    return Exit.USAGE


_INSTEAD = {  # of options that are looked for and have another name here
    f"--{word}": f"; write {told}"
    for word, told in {
        "temperature": "--with filament.temperature=240C",
        "temp": "--with filament.temperature=240C",
        "filament": "--material petg",
        "flow": "--asked 24mm3/s",
        "speed": "--asked '120mm/s x 0.45 x 0.2'",
        "hotend": "--with hotend.class=long",
        "mount": "--with drive.mount=petg",
        "ambient": "--with chamber=45C",
        "chamber": "--with chamber=45C",
        "voltage": "--with supply.voltage=24V",
        "motor": "--with motor.class=round-36",
        "current": "--vary motor.run_current=0.5A with compare",
        "nozzle": "--vary nozzle.diameter=0.6mm with compare",
    }.items()
}


def _sentence(message: str) -> str:
    """Return the parser's message as one sentence in our manner."""
    text = re.sub(r"\(Possible options: (.*)\)", r"; did you mean \1?", message)
    text = text.replace(" ;", ";").replace(". Did you mean", "; did you mean").rstrip(".")
    return f"{text[:1].lower()}{text[1:]}"
