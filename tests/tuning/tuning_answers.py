"""The samples' pages, each worked out once for all tests of this folder."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from unittest import mock

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check_config
from advisor.answers.tuning import answer
from advisor.answers.tuning.answer import SessionTexts
from advisor.answers.tuning_records import SessionReport

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
PROFILED = ("asks-too-much", "healthy")
DRAWS = 64  # few: what is typical does not hang on them, and costs less
NAMES = ("asks-too-much", "healthy", "no-sheet", "gear-bench", "over-driven", "soft-filament",
         "mixed-up")  # fmt: skip
SLUGGISH = ("motor.class=square-42-long", "motor.rotor_inertia=900 g cm2")
"""A rotor so heavy that torque binds before speed (invented)."""


def config(name: str) -> str:
    """The root config of a sample."""
    return str(SAMPLES / name / "printer.cfg")


def asks(
    name: str,
    *,
    weighed: bool = False,
    fields: tuple[str, ...] = (),
    draws: int | None = DRAWS,
) -> Asks:
    """What goes with a sample: its profile, its test."""
    profiles = (str(SAMPLES / name / "profile.ini"),) if name in PROFILED else ()
    tables = (str(SAMPLES / name / "flow-test.csv"),) if weighed else ()
    return Asks(profiles=profiles, weighed=tables, fields=fields, draws=None if weighed else draws)


@cache
def page(
    name: str,
    *,
    weighed: bool = False,
    fields: tuple[str, ...] = (),
    texts: SessionTexts | None = None,
) -> SessionReport:
    """The page of a sample, of the config that `checked` worked out once."""
    texts = texts or SessionTexts(materials=("petg",))
    given, made = (
        asks(name, weighed=weighed, fields=fields),
        checked(name, weighed=weighed, fields=fields),
    )
    with mock.patch.object(answer, "check_config", return_value=made) as asked:
        told = answer.tuning_session(config(name), given, texts)
    asked.assert_called_once_with(config(name), given)
    return told


@cache
def checked(name: str, *, weighed: bool = False, fields: tuple[str, ...] = ()) -> CheckedConfig:
    """A sample worked out as `lint` does."""
    return check_config(config(name), asks(name, weighed=weighed, fields=fields))
