"""The one command that would narrow an answer most: a question of a few words, a sheet, a test."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.answers.asks import Asks, typed
from advisor.base import Case, FileStatus, NextStep
from advisor.inputs import load_fields
from advisor.machine import Machine

__all__ = ["cause_step", "next_step", "weigh_step"]

_TEST_TABLE = "flow-test.csv"
_SHEET = "hardware.yaml"
_OF_WEIGH = ("--sheet", "--with", "--material", "--allow-outside")
_OF_SHEET = ("--material", "--allow-outside")
_OF_DIAGNOSE = (
    "--sheet", "--with", "--profile", "--preset", "--parents", "--print", "--material", "--asked",
    "--weighed", "--skip-test", "--tests", "--allow-outside",
)  # fmt: skip
_WHAT = {"hotend.class": "hotend", "drive.driven_gears": "driven gears"}


def next_step(
    command: str,
    config: str,
    machine: Machine,
    cases: Sequence[Case],
    asks: Asks,
    files: Iterable[FileStatus] = (),
    contradicted: tuple[str, ...] | None = None,
) -> NextStep | None:
    """Return what to type next; None where nothing is known, or the config has no name.

    None, too, where a test is weighed already: no other command narrows it more.

    Parameters
    ----------
    command : str
        The command that is answered: the same again with one more word, where a word decides.
    config : str
        The config as it was named.
    machine : Machine
        The extruder.
    cases : sequence of Case
        Of what decides and nobody states.
    asks : Asks
        What the command line states.
    files : iterable of FileStatus, optional
        What was read: a sheet that could not be used comes before all else.
    contradicted : tuple of str, optional
        Given where a test contradicts what is stated: the words that name the extruder.
    """
    if config == "-":
        return None
    if first := _sheet_to_correct(files):
        return NextStep(f"correct {first} first, then again", (command, config, *typed(asks)))
    if contradicted is not None:
        return cause_step(config, asks, contradicted)
    return _narrowing(command, config, machine, cases, asks)


def _narrowing(
    command: str, config: str, machine: Machine, cases: Sequence[Case], asks: Asks
) -> NextStep | None:
    """Return what narrows the answer most; None where nothing is known, or a test is weighed."""
    capacity = machine.facts.get("flow.capacity")
    if capacity is None or not capacity.known:
        return None
    tested = machine.facts.get("weighed.reference_ratio")
    if asks.weighed or (tested is not None and tested.known):
        return None  # the test is done: what is left stands in what to measure
    if cases:
        field, names = cases[0].field, [case.name for case in cases]
        stated = ("--with", f"{field}={names[0]}")
        words = f"state your {_WHAT.get(field, field)} ({load_fields().questions[field]})"
        return NextStep(words, (command, config, *typed(asks), *stated))
    if capacity.trace.assumed and asks.sheet is None:
        out = ("--interactive", "--out", _SHEET)
        words = "answer a few questions; what narrows it most comes first"
        return NextStep(words, ("sheet", config, *typed(asks, _OF_SHEET), *out))
    return weigh_step(config, asks)


def cause_step(config: str, asks: Asks, extruder: Sequence[str]) -> NextStep:
    """Return how the cause is found of what was measured and contradicts what is stated."""
    words = "find why the test and the machine as stated disagree"
    given = (*typed(asks, _OF_DIAGNOSE), *(() if asks.use_tests else ("--no-tests",)))
    return NextStep(words, ("diagnose", config, "--interactive", *given, *extruder))


def _sheet_to_correct(files: Iterable[FileStatus]) -> str | None:
    """Return the sheet that could not be used, with the line of its first mistake."""
    for file in files:
        if file.role == "sheet" and file.status != "read":
            at = None if file.reason is None else file.reason.at
            return file.path if at is None else f"{at.file} line {at.line}"
    return None


def weigh_step(config: str, asks: Asks) -> NextStep:
    """Return how a weighed test is planned."""
    words = "weigh a flow test: it tells what this machine does"
    plan = ("weigh", "plan", config, *typed(asks, _OF_WEIGH), "--csv", _TEST_TABLE)
    return NextStep(words, plan)
