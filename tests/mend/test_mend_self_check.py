"""The program checks its own edits before it shows them; each check is seen to bite."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from typing import Any

import pytest
from mend_helpers import CONFIG, DRIVER, PROFILE, SHEET, Machine, rulebook
from tiers import spread, wide

from advisor import Asks
from advisor.answers import mend_rounds as plan
from advisor.answers.mend_rounds import make_plan
from advisor.base import MendError
from advisor.mend.apply import FileChange
from advisor.mend.verify import verify_files

RAISING = """\
- name: more
  title: A rule for a test
  level: warning
  stage: motor
  when: motor.run_current < 2 A
  at: motor.run_current
  message: A message.
  why: A reason.
  fix: {set: motor.run_current, to: 2 A, round: up, step: 0.01}
  source: firmware-settings
  examples: {holds: [{motor.run_current: 1 A}], fails: [{motor.run_current: 3 A}]}
"""
Spoil = Callable[[bytes], bytes]
SPOILT: Mapping[str, Spoil] = {
    "another value": lambda data: data.replace(b"microsteps: 16", b"microsteps: 32"),
    "a comment": lambda data: data.replace(b"# Invented", b"# invented"),
    "a blank": lambda data: data.replace(b"microsteps: 16", b"microsteps:  16"),
    "a line end": lambda data: data.replace(b"[extruder]\n", b"[extruder]\r\n"),
    "the last line end": lambda data: data.rstrip(b"\n"),
    "a line more": lambda data: data + b"\n",
    "a value not set": lambda data: data.replace(b"run_current: 0.56", b"run_current: 0.9"),
    "a wrong value": lambda data: data.replace(b"run_current: 0.56", b"run_current: 0.57"),
    "a section": lambda data: data.replace(b"[printer]", b"[printer ]"),
}


@wide
@pytest.mark.parametrize("kind", spread(list(SPOILT), 2))
def test_a_config_that_differs_elsewhere_is_refused(machine: Machine, kind: str) -> None:
    """One other character, and nothing is shown."""
    made = make_plan("printer.cfg", Asks())
    real = os.path.realpath("printer.cfg")
    changes = tuple(made.changes.values())
    verify_files(made.files.first, made.edited, changes)
    spoilt = SPOILT[kind](made.edited[real])

    assert spoilt != made.edited[real]
    with pytest.raises(RuntimeError, match="changes"):
        verify_files(made.files.first, {real: spoilt}, changes)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"= 200", b"= 201"),
        (b"ABS\n", b"ABS \n"),
        (b"d = 7.", b"d = 6."),
        (b"0.2\n", b"0.2\r\n"),
    ],
)
def test_a_profile_that_differs_elsewhere_is_refused(
    machine: Machine, old: bytes, new: bytes
) -> None:
    """The same for a slicer profile; another value in the right place is found as well."""
    machine.config(CONFIG + DRIVER.replace("0.9", "0.5").replace("0.7", "0.5"))
    name = machine.profile(PROFILE)
    made = make_plan("printer.cfg", Asks(profiles=(name,)))
    real = os.path.realpath(name)
    data = made.edited[real]
    changes = tuple(made.changes.values())
    assert old in data
    spoilt = {real: data.replace(old, new)}

    with pytest.raises(RuntimeError, match=r"changes|is not"):
        verify_files(made.files.first, spoilt, changes)


def test_a_fault_of_ours_is_no_diff(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    """An edit that damages the file ends as an internal error: no byte shown or written."""
    before = machine.bytes()
    real = plan.edited_bytes

    def damaging(*arguments: Any) -> dict[str, bytes]:
        edited = real(*arguments)
        return {path: SPOILT["another value"](data) for path, data in edited.items()}

    monkeypatch.setattr(plan, "edited_bytes", damaging)
    ran = machine.run("mend", "printer.cfg", "--write")

    assert (ran.code, ran.out) == (3, b"")
    assert "INTERNAL ERROR" in ran.err
    assert machine.bytes() == before
    assert machine.hidden() == []


def test_a_current_that_rose_is_refused_at_the_end(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Should the first guard fail: the facts themselves are compared before anything is shown."""
    book = rulebook(RAISING)
    for module in ("answers.lint", "answers.mend_rounds"):
        monkeypatch.setattr(f"advisor.{module}.load_rulebook", lambda: book)
    monkeypatch.setattr(plan, "refusal", lambda *_: None)

    with pytest.raises(
        MendError,
        match=r"the edit 'run_current: .* line \d+\) would raise .*motor\.applied_current",
    ):
        make_plan("printer.cfg", Asks())


def test_an_edit_without_effect_is_given_up(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the value does not count after all, it is no edit, and a person is told."""

    def idle(first: Mapping[str, bytes], changes: Iterable[FileChange]) -> dict[str, bytes]:
        return {change.target.real: first[change.target.real] for change in changes}

    monkeypatch.setattr(plan, "edited_bytes", idle)
    report = machine.mend()

    assert report.edits == ()
    assert {one.reason for one in report.by_hand} == {
        "the edit would change nothing: another value counts"
    }


def test_edits_that_a_second_run_would_not_keep_are_refused(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check after the last round reads the new bytes anew, and does not trust the plan."""
    rounds: list[bool] = []
    real = plan._round

    def stopping(*arguments: Any) -> bool:
        rounds.append(True)
        return real(*arguments) if len(rounds) != 2 else False

    machine.sheet(SHEET.replace("30 degC", "31 degC"))
    machine.config(CONFIG + DRIVER.replace("hold_current: 0.7", "hold_current: 0.95"))
    monkeypatch.setattr(plan, "_round", stopping)
    monkeypatch.setattr(plan, "_settle", lambda *_: None)  # it would take up what was left out

    with pytest.raises(RuntimeError, match="a second run would make edits again"):
        machine.mend()
