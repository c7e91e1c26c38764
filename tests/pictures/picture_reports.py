"""Reports to draw: those of every sample, and hand-made ones that are hard to draw."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

from tiers import WIDE, spread

from advisor.answers.asks import Asks
from advisor.answers.curve_records import BandLine, ForceReport, TorqueReport
from advisor.answers.curves.force import force_report
from advisor.answers.curves.torque import torque_report
from advisor.answers.demand_records import DemandReport, DemandRow
from advisor.answers.lint import check_config
from advisor.answers.print_demand import demand
from advisor.base import Band
from advisor.report.pictures import draw_force, draw_heights, draw_torque, draw_weighed
from advisor.weigh.records import Evaluation, Step

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
UGLY = "ugly/printer.cfg"  # has extruders of which nothing can be drawn
CONFIGS = sorted(
    (str(path.relative_to(SAMPLES)) for path in SAMPLES.rglob("printer.cfg")),
    key=lambda name: (name == UGLY, name),
)


@functools.cache
def of_sample(config: str) -> tuple[tuple[ForceReport, TorqueReport, tuple[Evaluation, ...]], ...]:
    path = SAMPLES / config
    test, profile = path.parent / "flow-test.csv", path.parent / "profile.ini"
    asks = Asks(
        weighed=(str(test),) if test.exists() else (),
        profiles=(str(profile),) if profile.exists() else (),
    )
    checked = check_config(str(path), asks)
    return tuple(
        (force_report(name, book), torque_report(checked, name), checked.tests.get(name, ()))
        for name, book in checked.books.items()
    )


@functools.cache
def of_print() -> DemandReport:
    folder = SAMPLES / "asks-too-much"
    with (folder / "box.gcode").open("rb") as stream:
        return demand(stream, "box.gcode", str(folder / "printer.cfg"), Asks())


@functools.cache
def every_picture() -> dict[str, str]:
    """Return the pictures of samples, all in a wide run, by name; '' where none can be drawn."""
    made: dict[str, str] = {"print": draw_heights(of_print())}
    for config in CONFIGS if WIDE else spread(CONFIGS, 2):
        for number, (force, torque, tests) in enumerate(of_sample(config)):
            made[f"{config} {number} force"] = draw_force(force)
            made[f"{config} {number} torque"] = draw_torque(torque)
            made |= {f"{config} {number} {test.name}": draw_weighed(test) for test in tests}
    return made


def healthy() -> tuple[ForceReport, TorqueReport, Evaluation]:
    force, torque, tests = of_sample("healthy/printer.cfg")[0]
    return force, torque, tests[0]


def boundless(line: BandLine) -> BandLine:
    """Return a line whose high end is endless and whose last third is, too."""
    held = len(line.value) * 2 // 3
    value = (*line.value[:held], *(math.inf for _ in line.value[held:]))
    return BandLine(value=value, low=line.low, high=tuple(math.inf for _ in line.high))


def layers(count: int, **other: Any) -> DemandReport:
    """Return a print of many layers, which grows wider upward."""
    rows = tuple(
        DemandRow(f"line {i}", 10.0, 20.0, 6.0 + 0.01 * i, 5.0 + 0.01 * i, 0.0, 0.0, 0.2 * (i + 1))
        for i in range(count)
    )
    return replace(of_print(), layers=rows, **other)


def step(flow: float, ratio: float, *, skipped: str = "no", outlier: str | None = None) -> Step:
    return Step(
        flow=flow * 1e-9, length=0.28, mass=8.3e-4, ratio=ratio, own=0.01, expanded=0.02,
        absolute=ratio, absolute_expanded=0.02, skipped=skipped, repeats=1, reference=False,
        lost=False, outlier=outlier, at=(),
    )  # fmt: skip


def weighed(*steps: Step, name: str = "a <b> & c", knee: Band | None = None) -> Evaluation:
    return replace(healthy()[2], name=name, steps=steps, knee=knee)
