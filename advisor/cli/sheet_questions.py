"""Asks the questions of the hardware sheet on stderr and reads the answers from stdin.

Lines only: no screen is taken over, so that it works over a slow line and with answers piped in.
"""

from __future__ import annotations

import contextlib
import enum
import signal
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from advisor.base import InputError
from advisor.cli.streams import read_line, tell
from advisor.report import plain

if TYPE_CHECKING:
    from types import FrameType

    from advisor.answers import Interview
    from advisor.report import Look

    Handler = Callable[[int, FrameType | None], None] | signal.Handlers

__all__ = ["Ending", "ask_all", "confirmed", "hang_up_is_ctrl_c", "take_any_bytes",
           "undisturbed"]  # fmt: skip

ROUND = 6  # questions before it is asked whether to go on
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


class Ending(enum.Enum):
    """How the questions ended."""

    DONE = "done"  # nothing is left, the owner stopped, or the answers came to their end
    INTERRUPTED = "interrupted"


def ask_all(interview: Interview, look: Look) -> Ending:
    """Ask until nothing is left, the owner stops, or the input ends."""
    from advisor.report import questions_text as words

    try:
        tell(words.opening(look))
        tell(words.standing(interview, look))
        while _ask_round(interview, look):
            left = interview.left()
            if not left:
                tell("nothing more is asked that the answer hangs on\n")
                break
            tell(words.ask_more(left, look))
            if not confirmed("more? y/n [n]: "):
                break
    except KeyboardInterrupt:
        tell("\n")
        return Ending.INTERRUPTED
    return Ending.DONE


def confirmed(question: str) -> bool:
    """Return whether the owner says yes; Enter and the end of the input mean no."""
    while True:
        line = _answer(question)
        if line is None or line.lower() in {"", "n", "no", "q"}:
            return False
        if line.lower() in {"y", "yes"}:
            return True
        tell("y or n\n")


def take_any_bytes() -> None:
    """Let stdin give any bytes as text, before the first is read: a slip is no fault."""
    if hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="replace")


@contextlib.contextmanager
def hang_up_is_ctrl_c() -> Iterator[None]:
    """Treat a line that is cut, and a request to end, like Ctrl-C: answers are kept."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with _handling(stop, _SIGNALS[1:]):
        yield


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """Let nothing interrupt while what was answered is written."""
    with _handling(signal.SIG_IGN, _SIGNALS):
        yield


@contextlib.contextmanager
def _handling(handler: Handler, names: tuple[str, ...]) -> Iterator[None]:
    before = {}
    for name in names:
        number = getattr(signal, name, None)
        with contextlib.suppress(ValueError, OSError):  # not in the main thread: leave it
            if number is not None:
                before[number] = signal.signal(number, handler)
    try:
        yield
    finally:
        for number, old in before.items():
            with contextlib.suppress(ValueError, OSError, TypeError):
                signal.signal(number, old)


def _ask_round(interview: Interview, look: Look) -> bool:
    """Ask up to `ROUND` questions; return whether to offer more."""
    from advisor.report import questions_text as words

    asked, shown = 0, ""
    while asked < ROUND:
        question = interview.question
        if question is None or (asked and not question.weighty):
            return True
        if question.path != shown:
            tell(words.question_text(question, len(interview.passed) + 1, look))
            shown = question.path
        line = _answer(words.prompt(question))
        if line is None or line.lower() == "q":
            return False
        if line == "?":
            tell(words.help_text(question, look))
        elif line.lower() == "b":
            asked, shown = max(0, asked - 1), ""
            _go_back(interview)
        elif _taken(interview, line, look):
            asked += 1
    return True


def _go_back(interview: Interview) -> None:
    if not interview.back():
        tell("this is the first question\n")


def _taken(interview: Interview, line: str, look: Look) -> bool:
    """Take an answer, and return whether it could be taken."""
    from advisor.report import questions_text as words

    if not line:
        interview.leave_open()
        return True
    try:
        stated = interview.answer(line)
    except InputError as error:
        tell(words.refusal(error, look))
        return False
    if ", ".join(stated) != line:
        tell(f"taken as {plain(', '.join(stated))}\n")
    tell(words.standing(interview, look))
    return True


def _answer(question: str) -> str | None:
    """Return a line of the input without its ends; None where there is no more."""
    tell(question)
    line = read_line()
    if line is None:
        tell("\n")
        return None
    if not sys.stdin.isatty():
        tell(f"{plain(line.strip())}\n")  # so that what is shown can be read by itself
    return line.strip()
