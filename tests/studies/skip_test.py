"""How often the range of the capacity holds that a skip test leaves, and how wide it is.

Machines are drawn from the ensembles of invented builds: geared pancakes with a standard and a
long melt zone, full-size motors; each with a chip of its own. Each is run through its plan on the
bench of `tests/weigh/skip_bench.py`, which shares no code with what plans or reads the test, and
read. 90 % is claimed. Run it by

    python tests/studies/skip_test.py [--machines 400] [--seed 1] [--from 0]

It prints a table; nothing else depends on it but the smoke test beside it.
"""

from __future__ import annotations

import argparse
import functools
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "weigh"))

import skip_bench

from advisor.answers.asks import Asks
from advisor.answers.lint import check_config
from advisor.answers.skip_plan import plan_skip_test
from advisor.answers.skip_tests import skip_seen
from advisor.catalog import load_catalog
from advisor.machine import Machine, band_of, plausible
from advisor.weigh import SkipPlanAnswer
from advisor.weigh.fit import narrowed
from advisor.weigh.skip_table import read_skip_table

TRUE_MACHINES = 778  # an ensemble that no narrowing draws from
_TRUE = {
    "constant": "motor.torque_constant",
    "detent": "motor.detent_torque",
    "efficiency": "drive.gear_efficiency",
    "travel": "drive.travel_per_motor_turn",
    "area": "filament.area",
    "drag": "force.path_drag",
    "push": "hotend.reference_force",
    "push_flow": "hotend.reference_flow",
    "exponent": "model.force_exponent",
    "full_scale": "driver.tolerance",
    "inertia": "motor.rotor_inertia",
    "slip": "flow.slip",
}


@dataclass(frozen=True)
class Build:
    """An invented build: what its config and sheet say beside what all have."""

    title: str
    gears: str
    driver: str
    sheet: str
    chip: skip_bench.Chip


_TWO_RANGE = "[tmc2209 extruder]\nuart_pin: PC1\nsense_resistor: 0.110\n"
_SCALED = "[tmc5160 extruder]\ncs_pin: PC1\nsense_resistor: 0.075\n"
BUILDS = {
    "long": Build(
        "geared pancake, long zone",
        "rotation_distance: 45.2\ngear_ratio: 9:1\n",
        f"{_TWO_RANGE}run_current: 0.56\n",
        "motor: {class: round-36}\ndrive: {class: twin-large}\nhotend: {class: long}\n"
        "filament: {material: pla, temperature: 215 degC}\n",
        skip_bench.two_range,
    ),
    "standard": Build(
        "geared pancake, standard",
        "rotation_distance: 45.2\ngear_ratio: 9:1\n",
        f"{_SCALED}run_current: 0.55\n",
        "motor: {class: round-36}\ndrive: {class: twin-large}\nhotend: {class: standard}\n"
        "filament: {material: petg, temperature: 240 degC}\n",
        skip_bench.scaled,
    ),
    "full": Build(
        "full-size, small gears",
        "rotation_distance: 22.7\ngear_ratio: 50:17\n",
        f"{_TWO_RANGE}run_current: 0.70\n",
        "motor: {class: square-42-short}\ndrive: {class: twin-small}\nhotend: {class: standard}\n"
        "filament: {material: pla, temperature: 215 degC}\n",
        skip_bench.two_range,
    ),
    "medium": Build(
        "full-size, medium gears",
        "rotation_distance: 26.5\ngear_ratio: 50:17\n",
        f"{_SCALED}run_current: 0.60\n",
        "motor: {class: square-42-short}\ndrive: {class: twin-medium}\nhotend: {class: long}\n"
        "filament: {material: abs, temperature: 250 degC}\n",
        skip_bench.scaled,
    ),
}
_CONFIG = """# Invented build of a study; no real machine is meant.
[printer]
kinematics: corexy
max_velocity: 300
max_accel: 5000
[extruder]
{gears}microsteps: 16
nozzle_diameter: 0.400
filament_diameter: 1.750
max_extrude_only_distance: 100
max_extrude_only_velocity: 60
max_extrude_only_accel: 1500
min_extrude_temp: 170
max_temp: 290
{driver}hold_current: 0.30
"""
_SHEET = "supply: {voltage: 24 V}\nambient: 23 degC\n"


@dataclass(frozen=True)
class Outcome:
    """One simulated test: what limits the build, the true capacity, the ranges, [mm3/s]."""

    build: str
    limit: str
    true: float
    before: tuple[float, float]
    after: tuple[float, float] | None

    @property
    def holds(self) -> bool:
        """Whether the range that the test leaves holds the true capacity."""
        low, high = self.after or self.before
        return low <= self.true <= high

    @property
    def width(self) -> float:
        """What is left of the range, [-]."""
        low, high = self.after or self.before
        return (high - low) / (self.before[1] - self.before[0])


@functools.cache
def machine(build: str) -> tuple[Machine, SkipPlanAnswer]:
    """Return the machine of a build and the plan for it."""
    given = BUILDS[build]
    with tempfile.TemporaryDirectory() as folder:
        config, sheet = Path(folder, "printer.cfg"), Path(folder, "hardware.yaml")
        config.write_text(_CONFIG.format(gears=given.gears, driver=given.driver), "utf-8")
        sheet.write_text(given.sheet + _SHEET, "utf-8")
        asks = Asks(sheet=str(sheet))
        checked = check_config(str(config), asks)
        planned = plan_skip_test(str(config), asks)
    assert planned.plan is not None, (build, planned.refused)
    return checked.machines["extruder"], planned


@functools.cache
def _truth(build: str) -> dict[str, np.ndarray]:
    made = machine(build)[0].on(plausible(number=TRUE_MACHINES)).book
    names = {**_TRUE, "capacity": "flow.capacity"}
    size = made.ensemble.size
    found = {name: made.number(fact) for name, fact in names.items()}
    return {name: number.over(size) for name, number in found.items() if number is not None}


def true_machine(build: str, number: int, rng: np.random.Generator) -> skip_bench.Machine:
    """Return one of the true machines of a build; number from 1."""
    values = {name: float(_truth(build)[name][number]) for name in _TRUE}
    return skip_bench.Machine(
        **values,
        warmth=float(rng.uniform(5.0, 45.0)),
        swing=float(rng.uniform(0.0, 0.15)),
        step_errors={step: float(rng.uniform(-0.5, 0.5)) for step in range(32)},
    )


def simulated(build: str, number: int, rng: np.random.Generator) -> Outcome:
    """Return what a skip test makes of a true machine."""
    plain, planned = machine(build)
    assert planned.plan is not None
    true = true_machine(build, number, rng)
    ramps = {level.current: level.flows for level in planned.plan.levels}
    head = "".join(f"# {name}: {text}\n" for name, text in planned.conditions.items())
    text = skip_bench.run(true, BUILDS[build].chip, ramps, head, rng)
    table = read_skip_table(text.encode(), "t.csv")
    seen, _ = skip_seen(table, plain, load_catalog())
    told = narrowed(plain, [seen])[1]
    before = band_of(plain.facts["flow.capacity"])
    assert before is not None
    after = None if told.after is None else (told.after.low, told.after.high)
    capacity = float(_truth(build)["capacity"][number]) * 1e9
    limit = planned.plan.bottleneck or ""
    return Outcome(build, limit, capacity, (before.low, before.high), after)


def run(count: int, seed: int = 1, first: int = 0) -> Iterator[Outcome]:
    """Yield tests of so many machines, the builds in turn."""
    names = list(BUILDS)
    for number in range(first, first + count):
        rng = np.random.default_rng((seed, number))
        yield simulated(names[number % len(names)], 1 + (number * 613 + 97 * seed) % 2047, rng)


def rows(tests: Sequence[Outcome]) -> Iterator[str]:
    """Yield the table: how often the range holds, and what is left of its width."""
    yield "build                       limit     tests    holds  below  above   width  impossible"
    for build in (*BUILDS, "torque", "grip", ""):
        here = [one for one in tests if build in ("", one.build, one.limit)]
        if not here:
            continue
        low = np.mean([one.true < (one.after or one.before)[0] for one in here])
        high = np.mean([one.true > (one.after or one.before)[1] for one in here])
        title = BUILDS[build].title if build in BUILDS else f"all {build}".rstrip()
        yield (
            f"{title:28s}{here[0].limit if build in BUILDS else '':9s}{len(here):6d}"
            f"{100 * np.mean([one.holds for one in here]):7.1f} %{100 * low:5.1f} %"
            f"{100 * high:5.1f} %{np.median([one.width for one in here]):8.2f}"
            f"{sum(one.after is None for one in here):12d}"
        )


def _show(lines: Iterable[str]) -> None:
    sys.stdout.write("".join(f"{line}\n" for line in lines))
    sys.stdout.flush()


def main() -> None:
    """Run the study and print its table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--machines", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", dest="first", type=int, default=0)
    asked = parser.parse_args()
    _show(rows(list(run(asked.machines, asked.seed, asked.first))))


if __name__ == "__main__":
    main()
