"""The largest flow to set in a profile: one figure, from the machines like this one or a test.

Checked against the rule worked out on sorted lists, which shares nothing with the code. The shares
(three of four, one in ten, nine tenths, 0.85) are common practice, no source.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from advisor import Asks
from advisor.answers.flow_limit import flow
from advisor.answers.lint import check
from advisor.answers.mend_files import mend
from advisor.base import State
from advisor.cli import main
from advisor.machine.graph import FactBook

Nominal = Callable[[FactBook, str], float]
Machine = Callable[..., FactBook]
CONFIG = """\
# Invented: the mill of no one.
[printer]
max_velocity: 300
max_accel: 5000
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
"""
PROFILE = "filament_type = PLA\nfilament_max_volumetric_speed = {cap}\n"


def _at(values: Sequence[float], share: float) -> float:
    """The value below which a share of a list lies, in a straight line between neighbours."""
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    low = math.floor(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (place - low) * (ordered[high] - ordered[low])


def _flows(book: FactBook, name: str) -> list[float]:
    samples = np.broadcast_to(np.asarray(book.facts[name].number.si, float), book.ensemble.size)
    return [float(value) for value in samples]


def test_not_weighed_it_is_what_three_of_four_sustain_and_one_of_ten_loses_at(
    machine: Machine, nominal: Nominal
) -> None:
    """The lower of the two, in whole tenths of mm3/s, and below the typical limit."""
    book = machine({"hotend.class": "standard", "hotend.melt_length": None})
    losses = [_flows(book, f"flow.{name}") for name in ("skip", "slip", "buckling", "melt")]
    sustained = _at(_flows(book, "flow.capacity"), 0.25)
    begins = _at([min(of) for of in zip(*losses, strict=True)], 0.10)

    found = nominal(book, "profile.cap_setting")

    assert found == pytest.approx(math.floor(min(sustained, begins) * 1e10 + 1e-6) / 10.0)
    assert 0.0 < found < nominal(book, "flow.capacity")


@pytest.mark.parametrize(
    ("clean", "expected"),
    [
        (0.0, "cautious"),  # nothing came out whole: the low end alone
        (9.0, "clean"),
        (30.0, "middle"),  # never above nine tenths of the middle
    ],
)
def test_weighed_it_stays_below_what_was_seen(
    machine: Machine, nominal: Nominal, clean: float, expected: str
) -> None:
    """Nine tenths of the middle, or what came out whole, or the cautious end."""
    book = machine({"weighed.clean_flow": clean})
    flows = [value * 1e9 for value in _flows(book, "flow.capacity")]
    parts = {"cautious": _at(flows, 0.05), "clean": 0.85 * clean, "middle": 0.9 * flows[0]}

    found = nominal(book, "profile.cap_setting")

    assert found == pytest.approx(math.floor(parts[expected] * 10.0 + 1e-6) / 10.0)
    assert found == pytest.approx(
        math.floor(min(parts["middle"], max(parts["cautious"], parts["clean"])) * 10 + 1e-6) / 10
    )


def test_without_a_known_hotend_there_is_none(machine: Machine) -> None:
    """It hangs on the class, and says so; a stated length or a weighed test settles it."""
    unknown = {"hotend.class": None, "hotend.melt_length": None}
    fact = machine(unknown).facts["profile.cap_setting"]

    assert (fact.state, fact.trace.inputs) == (State.MISSING, ("hotend.class",))
    assert machine(unknown | {"hotend.melt_length": 12.5}).known("profile.cap_setting")
    assert machine(unknown | {"weighed.clean_flow": 9.0}).known("profile.cap_setting")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "printer.cfg").write_text(CONFIG)
    (tmp_path / "fast.ini").write_text(PROFILE.format(cap=40))
    return tmp_path


def test_an_unknown_hotend_gives_a_figure_a_class_and_no_edit(bench: Path) -> None:
    """Each case is what a sheet that states the class gives; `mend` writes none of them."""
    asks = Asks(profiles=("fast.ini",))
    report = flow("printer.cfg", asks)
    assert report.set_to is None
    assert [case.name for case in report.cases] == ["standard", "long", "extra-long"]
    assert all(edit.setting != "filament_max_volumetric_speed"
               for edit in mend("printer.cfg", asks).edits)  # fmt: skip
    for case in report.cases:
        (bench / "hardware.yaml").write_text(f"hotend: {{class: {case.name}}}\n")
        stated = flow("printer.cfg", asks)
        assert "hotend.class" not in {one.field for one in stated.cases}  # the gears are next
        assert (stated.set_to, stated.capacity) == (case.set_to, case.capacity)


@pytest.mark.parametrize("hotend", ["standard", "long"])
def test_a_cap_from_the_figure_to_the_middle_draws_no_finding(bench: Path, hotend: str) -> None:
    """Above the middle it is told, and the fix is the figure."""
    (bench / "hardware.yaml").write_text(f"hotend: {{class: {hotend}}}\n")
    report = flow("printer.cfg", Asks(profiles=("fast.ini",)))
    assert report.set_to is not None
    assert report.capacity is not None
    for cap in (report.set_to, 0.5 * (report.set_to + report.capacity.value)):
        (bench / "fast.ini").write_text(PROFILE.format(cap=f"{cap:.2f}"))
        told = {one.rule for one in check(["printer.cfg"], Asks(profiles=("fast.ini",))).findings}
        assert not told & {"profile-cap-above-capacity", "profile-cap-far-below-capacity"}
    (bench / "fast.ini").write_text(PROFILE.format(cap="80"))
    found = [one for one in check(["printer.cfg"], Asks(profiles=("fast.ini",))).findings
             if one.rule == "profile-cap-above-capacity"]  # fmt: skip
    assert [one.fix.new for one in found if one.fix] == [f"{report.set_to:.1f}"]


def test_the_cases_are_in_the_answer_for_programs(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """JSON: null to set, with a case a class."""
    main(["flow", "printer.cfg", "--profile", "fast.ini", "--format", "json"])
    tree = json.loads(capsys.readouterr().out)
    assert tree["set_to"] is None
    assert [case["class"] for case in tree["cases"]] == ["standard", "long", "extra-long"]
    assert all(case["set_to"] > 0 for case in tree["cases"])
