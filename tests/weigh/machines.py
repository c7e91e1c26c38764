"""Machines of the samples: what is stated of them, and true machines drawn from the ensemble."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from advisor.answers.weighed import seen_of
from advisor.catalog import load_catalog
from advisor.config import read_tree
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import read_config
from advisor.inputs.sheet import read_sheet
from advisor.machine import Machine, machine_of
from advisor.machine.assemble import ExtruderInputs
from advisor.machine.ensemble import SIZE, plausible
from advisor.machine.graph import FactBook
from advisor.weigh.fit import Narrowing, narrowed
from advisor.weigh.fit_points import first_loss
from advisor.weigh.plan import Bench, Wishes, make_plan
from advisor.weigh.records import Evaluation, Setup
from advisor.weigh.table_records import WeighedTable

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
TRUE_MACHINES = 777  # an ensemble that no narrowing draws from
AREA = np.pi / 4 * 1.75e-3**2


@functools.cache
def inputs(sample: str) -> ExtruderInputs:
    """Return what a sample states of its first extruder."""
    folder = SAMPLES / sample
    catalog = load_catalog()
    config = read_config(read_tree(str(folder / "printer.cfg")), load_dialect(), catalog=catalog)
    extruder = config.extruders[0]
    stated = {**config.machine, **extruder.facts}
    path = folder / "hardware.yaml"
    if path.exists():
        sheet = read_sheet(path.read_text(encoding="utf-8"), str(path), catalog=catalog)
        stated |= sheet.part(extruder.name).facts
    defaults = {**config.machine_defaults, **extruder.defaults}
    return ExtruderInputs(extruder.name, stated, defaults)


@functools.cache
def machine(sample: str) -> Machine:
    """Return a sample's machine."""
    return machine_of(inputs(sample), load_catalog())


def book(sample: str) -> FactBook:
    """Return the facts of a sample's machine."""
    return machine(sample).book


@functools.cache
def true_machines(sample: str) -> dict[str, np.ndarray]:
    """Return the limits of machines drawn from the ensemble of a sample, in m3/s."""
    made = machine(sample).on(plausible(number=TRUE_MACHINES)).book
    names = ("grip", "slip", "skip", "melt", "buckling", "capacity")
    flows = {name: np.asarray(made.samples(f"flow.{name}"), float) for name in names}
    return {name: np.broadcast_to(flow, (SIZE,)) for name, flow in flows.items()}


@dataclass(frozen=True)
class TrueMachine:
    """One machine: its limits, and where it begins to lose delivery, in m3/s."""

    limits: dict[str, float]

    @property
    def knee(self) -> float:
        """The lowest limit at which something is lost."""
        return min(self.limits[name] for name in ("grip", "melt", "buckling", "skip"))


def true_machine(sample: str, number: int) -> TrueMachine:
    """Return one of the true machines of a sample; number from 1."""
    return TrueMachine({name: float(x[number]) for name, x in true_machines(sample).items()})


@functools.cache
def flows(sample: str) -> tuple[float, ...]:
    """Return the flows that are planned for a sample, in the order they are run."""
    loss = first_loss(book(sample))
    assert loss is not None
    bench = Bench(
        area=AREA, density=1240.0, temperature=488.15, loss=loss,
        largest_speed=0.06, largest_accel=1.5, largest_move=0.1,
    )  # fmt: skip
    return tuple(step.flow for step in make_plan(bench, Wishes()).steps)


SETUP = Setup(area=AREA, diameter=1.75e-3, density=(1220.0, 1240.0, 1270.0),
              rotation_distance=45.2e-3)  # fmt: skip


def narrowing(sample: str, found: Evaluation, table: WeighedTable) -> Narrowing:
    """Return what a test makes of the capacity of a sample's machine."""
    return narrowed(machine(sample), [seen_of(found, table)])[1]
