"""Asks `advisor.diagnose` about a drawn machine, as its owner would: config, sheet, words, facts."""

from __future__ import annotations

import atexit
import functools
import tempfile
from collections.abc import Mapping
from pathlib import Path

import advisor
from tests.studies.diagnose_advice import Reading
from tests.studies.diagnose_bench import Case
from tests.studies.diagnose_machine import config_of, sheet_of
from tests.studies.diagnose_people import Fact, Told


@functools.cache
def _folder() -> Path:
    made = tempfile.TemporaryDirectory(prefix="bench-")
    atexit.register(made.cleanup)
    return Path(made.name)


def asked(
    config: str,
    sheet: str,
    sees: tuple[str, ...],
    sees_not: tuple[str, ...],
    facts: Mapping[str, Fact],
    did: tuple[str, ...] = (),
    draws: int | None = None,
) -> Reading:
    """Return what is said of a config and a sheet, of as many machines as it draws by itself or of so many."""
    path = _folder() / "hardware.yaml"
    path.write_text(sheet, encoding="utf-8")
    answer = advisor.diagnose(
        config, sheet=path, sees=sees, sees_not=sees_not, did=did, draws=draws, **facts
    )
    test = answer.next_test
    return Reading(
        causes=tuple((cause.name, cause.odds, cause.remedy) for cause in answer.causes),
        test=test.name if test else "",
        test_text=test.do if test else "",
        settled=answer.settled,
        first_of_all=answer.first_of_all or "",
        unexplained=answer.unexplained,
        outcomes=tuple(outcome.word for outcome in test.outcomes) if test else (),
    )


def ask(case: Case, told: Told, did: tuple[str, ...], draws: int | None = None) -> Reading:
    """Return what is said of a case of the bench, told so much."""
    machine = case.machine
    config, sheet = config_of(machine), sheet_of(machine)
    return asked(config, sheet, told.sees, told.sees_not, told.facts, did, draws)


def roughly(case: Case, told: Told, did: tuple[str, ...]) -> Reading:
    """The same of few machines, for smokes."""
    return ask(case, told, did, draws=128)
