"""Stand-ins for the work behind the commands, so that the command line is tested alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from cli_answers import Run, Runner

from advisor import answers
from advisor.cli import main


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Run the program in this process; stdout, stderr and exit code apart."""

    def made(*arguments: str) -> Run:
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return Run(int(code), out, err)

    return made


@pytest.fixture
def stand_in(monkeypatch: pytest.MonkeyPatch) -> Callable[[str, Any], list[Any]]:
    """Put an answer (or an exception) behind a command; return the list of calls it gets."""

    def made(name: str, answer: Any) -> list[Any]:
        calls: list[Any] = []

        def work(*arguments: Any, **options: Any) -> Any:
            calls.append((arguments, options))
            if isinstance(answer, BaseException):
                raise answer
            return answer

        monkeypatch.setattr(answers, name, work)
        return calls

    return made
