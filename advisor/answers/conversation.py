"""A conversation in questions: what was passed, the way back, and which choice an answer means.

It reads no keyboard and knows no layout: see the report and the command.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, Protocol, TypeVar

from advisor.base import InputError, UsageError, near_miss

__all__ = ["QuestionsInTurn", "chosen_of"]


class _Named(Protocol):
    """A question, by its name."""

    @property
    def path(self) -> str:
        """Its name."""


_Q = TypeVar("_Q", bound=_Named)
_K = TypeVar("_K")


class QuestionsInTurn(Generic[_Q, _K]):
    """Questions one after the other; each that was passed is kept with what was known before."""

    def __init__(self) -> None:
        self._steps: list[tuple[str, _K]] = []

    def left(self) -> list[_Q]:
        """Return the questions that are left, what tells most first."""
        raise NotImplementedError

    def _known(self) -> _K:
        """Return what is known so far."""
        raise NotImplementedError

    def _return_to(self, known: _K) -> None:
        """Make what was known before the last question what is known."""
        raise NotImplementedError

    @property
    def question(self) -> _Q | None:
        """What to ask now; None where nothing is left that the answer hangs on."""
        return next(iter(self.left()), None)

    @property
    def passed(self) -> tuple[str, ...]:
        """The questions that were answered or left open, in their order."""
        return tuple(path for path, _ in self._steps)

    def leave_open(self) -> None:
        """Pass the present question without an answer."""
        question = self.question
        if question is not None:
            self._pass(question, self._known())

    def back(self) -> bool:
        """Take back the last answer, or ask again what was left open; whether there was one."""
        if not self._steps:
            return False
        _, before = self._steps.pop()
        self._return_to(before)
        return True

    def _asked(self) -> _Q:
        """Return the present question, which is to be answered."""
        question = self.question
        if question is None:
            raise UsageError("nothing is asked any more")
        return question

    def _pass(self, question: _Q, before: _K) -> None:
        """Count a question as passed, with what was known before it."""
        self._steps.append((question.path, before))


def chosen_of(choices: Sequence[tuple[str, str]], text: str) -> str:
    """Return the choice that a number, a name or its beginning means.

    Raises
    ------
    InputError
        If it means none, or several.
    """
    names = [name for name, _ in choices]
    if text.isdecimal() and text.isascii() and 0 < int(text) <= len(names):
        return names[int(text) - 1]
    lower = text.lower()
    begun = [lower] if lower in names else [name for name in names if name.startswith(lower)]
    if len(begun) != 1:
        problem = f"'{text[:40]}' is not in the list" if not begun else f"'{text}' begins several"
        raise InputError(problem, near_miss(lower, names) or "give a name or its number")
    return begun[0]
