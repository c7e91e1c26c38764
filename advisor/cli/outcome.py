"""Turns what a command does, or fails to do, into text on the streams and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Protocol, TypeVar

from advisor.base import AdvisorError, Level, Report, UsageError, __version__
from advisor.cli.options import FailOn, PlainFormat, Shared
from advisor.cli.streams import Exit, complain, emit

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = [
    "answer",
    "answer_failure",
    "findings_exit",
    "internal_error",
    "respond",
    "shown",
]


TRACEBACK = "FEEDWRIGHT_TRACEBACK"
Failure = Callable[[AdvisorError | None, str], str]


def respond(work: Callable[[], tuple[str, Exit]], *, failure: Failure | None = None) -> Exit:
    """Do the work and write its report; where it fails, say so in one sentence.

    Parameters
    ----------
    work : callable
        Returns the report for stdout and the exit code.
    failure : callable, optional
        For machine formats: makes a valid report of an error (None for an internal fault) and
        its sentence. Usage errors leave stdout empty.

    Returns
    -------
    Exit
        The exit code.
    """
    try:
        text, code = work()
    except UsageError as error:
        complain(str(error))
        return Exit.USAGE
    except AdvisorError as error:
        complain(str(error))
        if failure is not None:
            emit(failure(error, str(error)))
        return Exit(error.exit_code)
    except Exception as error:  # noqa: BLE001 - a fault must not look like a finding
        sentence = internal_error(error)
        if failure is not None:
            emit(failure(None, sentence))
        return Exit.FAULT
    return code if emit(text) else Exit.FAULT


class _Answer(Protocol):
    """What a question answers."""

    @property
    def errors(self) -> tuple[str, ...]:
        """What could not be read, a sentence each."""


_A = TypeVar("_A", bound=_Answer)


def answer(
    shared: Shared,
    made: Callable[[], _A],
    text: Callable[[_A, Look], str],
    code: Callable[[_A], Exit],
) -> Exit:
    """Ask a question, complain of what could not be read, and write the answer as it was wished.

    Parameters
    ----------
    shared : Shared
        Form and colour.
    made : callable
        Asks the question.
    text : callable
        Writes the answer for people, in a look.
    code : callable
        Returns the exit code of an answer that was not hindered by errors.
    """

    def work() -> tuple[str, Exit]:
        report = made()
        for error in report.errors:
            complain(error)
        return shown(shared, report, text), Exit.FAULT if report.errors else code(report)

    return respond(work, failure=answer_failure(shared.form))


_R = TypeVar("_R")


def shown(shared: Shared, report: _R, text: Callable[[_R, Look], str]) -> str:
    """Return an answer as JSON, or as text in the look of stdout."""
    if shared.form is PlainFormat.JSON:
        from advisor.report import as_json

        return as_json(report)
    from advisor.report import look_for

    return text(report, look_for(sys.stdout, shared.colour.value))


def answer_failure(form: PlainFormat) -> Failure | None:
    """Return what makes a valid JSON object of an error; None where the form is for people."""
    return _errors_alone if form is PlainFormat.JSON else None


def _errors_alone(_: AdvisorError | None, sentence: str) -> str:
    from advisor.report import errors_json

    return errors_json([sentence])


def findings_exit(report: Report, fail_on: FailOn) -> Exit:
    """Return what the findings of a report make the exit code."""
    if fail_on is FailOn.NEVER:
        return Exit.CLEAN
    least = Level(fail_on.value).rank
    bad = any(finding.level.rank >= least for finding in report.findings)
    return Exit.FINDINGS if bad else Exit.CLEAN


def internal_error(error: Exception, env: Mapping[str, str] | None = None) -> str:
    """Tell of a fault of ours on stderr and return the sentence."""
    env = os.environ if env is None else env
    if env.get(TRACEBACK):
        import traceback

        traceback.print_exception(error)
    said = f": {error}" if str(error) else ""
    sentence = (
        f"INTERNAL ERROR in version {__version__} ({type(error).__name__}{said}; "
        f"{_where(error)}); this is a fault of feedwright, not of your files: report it with this "
        f"line, the command and the files ({TRACEBACK}=1 shows more)"
    )
    complain(sentence)
    return sentence


def _where(error: Exception) -> str:
    """Return the innermost place of the fault, without the folders of this machine."""
    trace, place = error.__traceback__, "place unknown"
    while trace is not None:
        file = os.path.basename(trace.tb_frame.f_code.co_filename)
        place = f"{file} line {trace.tb_lineno}"
        trace = trace.tb_next
    return place
