"""Asks questions one at a time on stderr and reads the answers from stdin, whatever they are about.

Lines only: no screen is taken over, so that it works over a slow line and with answers piped in.
"""

from __future__ import annotations

import contextlib
import enum
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Protocol, TypeVar

from advisor.base import InputError
from advisor.cli.streams import read_line, tell
from advisor.report import plain

if TYPE_CHECKING:
    from types import FrameType

    from advisor.report import Look

    Handler = Callable[[int, FrameType | None], None] | signal.Handlers

__all__ = ["Asked", "Conversation", "Ending", "Wording", "ask_all", "confirmed",
           "hang_up_is_ctrl_c", "narrow", "take_any_bytes", "undisturbed"]  # fmt: skip

WIDEST = 80
ROUND = 6  # questions before it is asked whether to go on
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


class Ending(enum.Enum):
    """How the questions ended."""

    DONE = "done"  # nothing is left, the owner stopped, or the answers came to their end
    INTERRUPTED = "interrupted"


class Asked(Protocol):
    """A question: its name, and whether enough hangs on it to ask it unbidden."""

    @property
    def path(self) -> str:
        """Its name."""

    @property
    def weighty(self) -> bool:
        """Whether much hangs on it."""


_Q = TypeVar("_Q", bound=Asked)
_Gives_co = TypeVar("_Gives_co", covariant=True, bound=Asked)
_Takes_contra = TypeVar("_Takes_contra", contravariant=True, bound=Asked)


class Conversation(Protocol[_Gives_co]):
    """What is asked and what was answered; it knows no keyboard."""

    @property
    def question(self) -> _Gives_co | None:
        """What to ask now; None where nothing is left."""

    @property
    def passed(self) -> tuple[str, ...]:
        """The questions that were answered or left open."""

    def left(self) -> Sequence[_Gives_co]:
        """Return the questions that are left."""

    def answer(self, text: str) -> tuple[str, ...]:
        """Take an answer and return what it is taken as; `InputError` where it cannot be."""

    def leave_open(self) -> None:
        """Pass the present question without an answer."""

    def back(self) -> bool:
        """Take back the last answer; whether there was one."""


class Wording(Protocol[_Takes_contra]):
    """The texts of a conversation: a module of the report."""

    def opening(self, look: Look) -> str:
        """Return what is said before the first question."""

    def question_text(self, question: _Takes_contra, number: int, look: Look) -> str:
        """Return a question."""

    def prompt(self, question: _Takes_contra) -> str:
        """Return what stands before the answer."""

    def help_text(self, question: _Takes_contra, look: Look) -> str:
        """Return what `?` shows."""

    def refusal(self, error: InputError, look: Look) -> str:
        """Return why an answer cannot be."""

    def ask_more(self, left: Sequence[_Takes_contra], look: Look) -> str:
        """Return what is said where the first questions are through."""


def ask_all(
    talk: Conversation[_Q], words: Wording[_Q], standing: Callable[[], str], look: Look
) -> Ending:
    """Ask until nothing is left, the owner stops, or the input ends.

    Parameters
    ----------
    talk : Conversation
        What is asked.
    words : Wording
        Its texts.
    standing : callable
        Returns the answer as it stands, told after each answer.
    look : Look
        Of the texts.
    """
    try:
        tell(words.opening(look))
        tell(standing())
        while _ask_round(talk, words, standing, look):
            left = talk.left()
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


def narrow() -> Look:
    """Return the look of the questions: plain, and no wider than a small terminal."""
    import dataclasses

    from advisor.report import look_for

    look = look_for(sys.stderr, "never")
    return dataclasses.replace(look, width=min(look.width, WIDEST))


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


def _ask_round(
    talk: Conversation[_Q], words: Wording[_Q], standing: Callable[[], str], look: Look
) -> bool:
    """Ask up to `ROUND` questions; return whether to offer more."""
    asked, shown = 0, ""
    while asked < ROUND:
        question = talk.question
        if question is None or (asked and not question.weighty):
            return True
        if question.path != shown:
            tell(words.question_text(question, len(talk.passed) + 1, look))
            shown = question.path
        line = _answer(words.prompt(question))
        if line is None or line.lower() == "q":
            return False
        if line == "?":
            tell(words.help_text(question, look))
        elif line.lower() == "b":
            asked, shown = max(0, asked - 1), ""
            _go_back(talk)
        elif _taken(talk, words, line, look):
            tell(standing() if line else "")
            asked += 1
    return True


def _go_back(talk: Conversation[_Q]) -> None:
    if not talk.back():
        tell("this is the first question\n")


def _taken(talk: Conversation[_Q], words: Wording[_Q], line: str, look: Look) -> bool:
    """Take an answer, and return whether it could be taken."""
    if not line:
        talk.leave_open()
        return True
    try:
        stated = talk.answer(line)
    except InputError as error:
        tell(words.refusal(error, look))
        return False
    if ", ".join(stated) != line:
        tell(f"taken as {plain(', '.join(stated))}\n")
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
