"""What is told of an extruder is worked out when it is looked at, and once for those alike."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from advisor import Asks
from advisor.answers.lint import check_config, check_each
from advisor.base import OnDemand
from advisor.machine import Machine, gains

_HEAD = "[printer]\nmax_velocity: 300\nmax_accel: 3000\n"
_EXTRUDER = """\
[extruder{name}]
nozzle_diameter: 0.4
filament_diameter: 1.75
rotation_distance: {distance}
gear_ratio: 50:10
microsteps: 16
"""
_DISTANCES = (22.6, 22.6, 22.7, 22.6)


def _config(path: Path, distances: tuple[float, ...] = _DISTANCES) -> str:
    parts = [
        _EXTRUDER.format(name=number or "", distance=one) for number, one in enumerate(distances)
    ]
    path.write_text(_HEAD + "".join(parts), encoding="utf-8")
    return str(path)


@pytest.fixture
def swept(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """Return whose levers are worked out, and how often."""
    counts: Counter[str] = Counter()
    real = gains._worked_out

    def counted(machine: Machine) -> object:
        counts[machine.inputs.name] += 1
        return real(machine)

    monkeypatch.setattr(gains, "_worked_out", counted)
    return counts


def test_nothing_is_told_before_it_is_looked_at(tmp_path: Path, swept: Counter[str]) -> None:
    """The machines are there; the levers of the one extruder that is looked at alone."""
    checked = check_config(_config(tmp_path / "printer.cfg"), Asks())
    assert all(one.book.known("flow.capacity") for one in checked.machines.values())
    assert len(checked.report.extruders) == len(_DISTANCES)
    assert swept == {}
    assert checked.report.extruders[2].gains
    assert swept == {"extruder2": 1}


def test_extruders_that_are_alike_are_worked_out_once(tmp_path: Path, swept: Counter[str]) -> None:
    """Those of other lines and other files too; one that differs in a value has its own."""
    paths = [_config(tmp_path / "a.cfg"), _config(tmp_path / "b.cfg", _DISTANCES[:1])]
    first, second = check_each(paths, Asks())
    told = [*first.report.extruders, *second.report.extruders]
    assert [one.gains == told[0].gains for one in told] == [True, True, False, True, True]
    assert swept == {"extruder": 1, "extruder2": 1}


def test_what_is_shared_is_what_each_is_alone(tmp_path: Path) -> None:
    """Levers, cases and what to measure next, worked out in a run of its own."""
    together = check_config(_config(tmp_path / "printer.cfg"), Asks()).report.extruders
    for one, distance in zip(together, _DISTANCES, strict=True):
        path = _config(tmp_path / "alone.cfg", (distance,))
        (alone,) = check_config(path, Asks()).report.extruders
        told = [(x.gains, x.cases, x.measure_next) for x in (one, alone)]
        assert told[0] == told[1]


def test_a_sequence_on_demand_is_a_sequence() -> None:
    """Each item is made once, whichever way it is asked for."""
    made: list[int] = []

    def make(number: int) -> int:
        made.append(number)
        return number * 10

    row = OnDemand(lambda n=n: make(n) for n in range(4))
    assert (len(row), row[-1], row[1:3], list(row)) == (4, 30, (10, 20), [0, 10, 20, 30])
    assert sorted(made) == [0, 1, 2, 3]
    assert row == (0, 10, 20, 30)
    assert row != (0, 10)
    with pytest.raises(IndexError):
        row[4]
