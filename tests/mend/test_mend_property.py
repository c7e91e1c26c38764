"""Whatever the config looks like: mending cures, touches values alone, and is done at once."""

from __future__ import annotations

import contextlib
import math
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, event, given, settings
from mend_helpers import Machine, patched, with_values
from mend_machines import Planted, machines
from tiers import examples, wide

from advisor import Asks, Report
from advisor.answers.build_records import MendReport
from advisor.answers.mend_files import undo

many = settings(
    max_examples=examples(2, 10, 600),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@wide
@many
@given(machines())
def test_mending_any_machine(planted: Planted) -> None:
    """The planted faults are edited, and nothing but their values.

    Idempotent; the rest byte for byte the same; the printed diff, applied, makes the same; the
    cured rules are silent on the new text, and what is new was announced; an undo gives the old
    bytes back.
    """
    with tempfile.TemporaryDirectory(prefix="feedwright-test-") as name:
        folder = Path(name) / "machine"
        folder.mkdir()
        machine = Machine(folder)
        for file, data in planted.files.items():
            machine.config(data, file)
        with contextlib.chdir(folder):
            _check(machine, planted)


@wide
@settings(many, max_examples=examples(1, 5, 400))
@given(machines())
def test_edits_are_one_fixed_point(planted: Planted) -> None:
    """The order of files, and of what is written first, changes no value; each is the one told.

    A cap is the largest flow to set of the mended machine, rounded down to 0.1 mm3/s: what the
    edit's own words say.
    """
    with tempfile.TemporaryDirectory(prefix="feedwright-test-") as name:
        results = []
        for number, way in enumerate(_WAYS):
            folder = Path(name) / str(number)
            folder.mkdir()
            machine = Machine(folder)
            for file, data in planted.files.items():
                machine.config(data, file)
            profiles = planted.profiles[::-1] if way == "reversed" else planted.profiles
            with contextlib.chdir(folder):
                shown = machine.mend(*profiles)
                for roles in _WAYS[way]:
                    machine.mend(*profiles, **dict.fromkeys(roles, True))
                _as_told(shown, machine.lint(*profiles))
                results.append({file: machine.bytes(file) for file in planted.files})
        assert all(one == results[0] for one in results[1:])


_WAYS: dict[str, tuple[tuple[str, ...], ...]] = {
    "at once": (("write", "write_profile"),),
    "reversed": (("write", "write_profile"),),
    "config first": (("write",), ("write_profile",)),
    "profile first": (("write_profile",), ("write",)),
}


def _as_told(shown: MendReport, after: Report) -> None:
    caps = [edit for edit in shown.edits if edit.basis_fact == "profile.cap_setting"]
    for edit in caps:
        told = {one.name: one.facts["profile.cap_setting"] for one in after.extruders}
        flow = told[edit.extruder].value  # mm3/s
        assert flow is not None
        assert float(edit.new) == pytest.approx(math.floor(flow * 10.0 + 1e-6) / 10.0), edit
    event(f"{len(caps)} caps")


def _must(planted: Planted, shown: MendReport) -> set[str]:
    """What has to be edited: a cap only where the safe current leaves a flow to cap.

    Else no cap is written, as to slicers 0 means no limit, and that nothing is left is told.
    """
    if all(change.after is None or change.after.value for change in shown.capacity):
        return set(planted.must)
    assert "no-printable-flow" in {finding.rule for finding in shown.brought}
    return set(planted.must) - {"filament_max_volumetric_speed"}


def _check(machine: Machine, planted: Planted) -> None:
    before = machine.lint(*planted.profiles)
    shown = machine.mend(*planted.profiles)
    assert {name: machine.bytes(name) for name in planted.files} == planted.files
    edited = {edit.setting for edit in shown.edits}
    assert _must(planted, shown) <= edited
    event(f"{len(shown.edits)} edits")

    written = machine.mend(*planted.profiles, write=True, write_profile=True)
    after = {name: machine.bytes(name) for name in planted.files}
    assert written.patch == shown.patch
    _only_values(shown, planted.files, after)
    _only_down(shown)
    assert patched(planted.files, shown.patch) == after

    again = machine.mend(*planted.profiles, write=True, write_profile=True)
    assert again.edits == ()
    assert again.patch == b""
    assert again.written == ()
    _cured(shown, before, machine.lint(*planted.profiles))

    if shown.edits:
        undo("printer.cfg", Asks(profiles=planted.profiles))
    assert {name: machine.bytes(name) for name in planted.files} == planted.files
    assert machine.hidden() == []


def _only_values(report: MendReport, before: dict[str, bytes], after: dict[str, bytes]) -> None:
    """Each file is the old one with the new values at their places, reckoned anew here."""
    for name, data in before.items():
        own = [edit for edit in report.edits if edit.at.file == name]
        assert after[name] == with_values(data, own), name


def _only_down(report: MendReport) -> None:
    """Currents and caps are lowered, never raised."""
    for edit in report.edits:
        assert edit.old is not None
        assert 0 < float(edit.new) < float(edit.old), edit


def _cured(report: MendReport, before: Report, after: Report) -> None:
    """What was to be cured is silent, and nothing is new that was not announced."""
    cured = {(rule, edit.extruder) for edit in report.edits for rule in edit.cured}
    told = Counter((one.rule, one.extruder) for one in after.findings)
    known = Counter((one.rule, one.extruder) for one in before.findings)
    announced = Counter((one.rule, one.extruder) for one in report.brought)

    assert not cured & set(told)
    assert not (told - known) - announced
    for edit in report.edits:
        for rule in edit.eased:
            event(f"eased {rule}")
