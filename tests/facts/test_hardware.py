"""Hardware that agrees with the config: motor classes, gears of a class, tubes, what to measure."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from held import held

from advisor.catalog import Catalog, load_catalog
from advisor.machine.graph import FactBook
from advisor.machine.measures import group_of, load_measures, measure_groups

Machine = Callable[..., FactBook]
Nominal = Callable[[FactBook, str], float]
NUMBERS = ("rated_current", "holding_torque", "resistance", "inductance", "detent_torque")
UNNAMED: Mapping[str, Any] = dict.fromkeys([f"motor.{name}" for name in NUMBERS])
BARE = {**UNNAMED, "hotend.melt_length": None, "drive.driven_gears": None, "drive.free_gap": None,
        "filament.material": None, "hotend.temperature": None, "drive.stages": None}  # fmt: skip


def test_a_rating_of_its_own_takes_the_winding_with_it(machine: Machine, nominal: Nominal) -> None:
    """A published 42 mm motor of 0.4 A: 30 ohm, 42 mH (softsolder.com/2013/04/11).

    At equal copper both go with one over the square of the current. The motor lies between the two
    lengths of the catalogue; its resistance is met by the long class to 5 %.
    """
    made = {
        name: machine({**UNNAMED, "motor.class": name, "motor.rated_current": 0.4})
        for name in ("square-42-short", "square-42-long")
    }
    ohm = {name: nominal(book, "motor.resistance") for name, book in made.items()}
    henry = {name: nominal(book, "motor.inductance") for name, book in made.items()}

    assert ohm["square-42-long"] == pytest.approx(30.0, rel=0.05)
    assert ohm["square-42-short"] < 30.0
    assert henry["square-42-short"] < 42.0 < henry["square-42-long"]


def test_copper_loss_at_the_rating_does_not_depend_on_the_rating(
    machine: Machine, nominal: Nominal
) -> None:
    """2 R I^2 is the class's (identity of the scaling); a stated resistance is left alone."""
    losses = []
    for amps in (0.4, 1.0, 1.68):
        changes = {**UNNAMED, "motor.class": "square-42-long", "motor.rated_current": amps}
        losses.append(2 * nominal(machine(changes), "motor.resistance") * amps**2)
    assert losses == pytest.approx([losses[0]] * 3)
    kept = machine({"motor.class": "square-42-long", "motor.rated_current": 0.4})
    assert nominal(kept, "motor.resistance") == pytest.approx(2.4)


@pytest.mark.parametrize(
    ("amps", "classes"),
    [(0.5, {"round"}), (0.64, {"round"}), (0.65, {"round", "short"}), (0.9, {"round", "short"}),
     (0.92, {"short"}), (1.2, {"short"})],
)  # fmt: skip
def test_the_set_current_says_which_motors_are_likely(
    machine: Machine, catalog: Catalog, amps: float, classes: set[str]
) -> None:
    """Behind a gear ratio of 9.5: two classes from 0.65 to 0.9 A RMS, no pancake above."""
    book = machine({**UNNAMED, "motor.run_current": amps})
    mass = np.asarray(book.facts["motor.mass"].number.si)
    entries = {"round": catalog.motors["round-36"], "short": catalog.motors["square-42-short"]}
    found = {
        name
        for name, entry in entries.items()
        if np.any((mass >= entry.numbers["motor.mass"].low)
                  & (mass <= entry.numbers["motor.mass"].high))
    }  # fmt: skip
    assert found == classes
    if len(classes) == 2:
        share = np.mean(mass > 0.1)  # kg: above the pancake's heaviest
        assert 0.45 < share < 0.55


def test_a_motor_is_of_one_class_in_all_its_numbers(machine: Machine) -> None:
    """Half of the machines have the heavier motor, and it is those that have its resistance."""
    book = machine({**UNNAMED, "motor.run_current": 0.8})
    heavy = np.asarray(book.facts["motor.mass"].number.si) > 0.1
    assert np.all(np.asarray(book.facts["motor.resistance"].number.si)[heavy] > 3.2)
    assert np.all(np.asarray(book.facts["motor.resistance"].number.si)[~heavy] < 2.7)


@pytest.mark.parametrize("name", ["twin-small", "twin-medium", "twin-large", "single"])
def test_a_stated_class_brings_its_usual_gears(
    machine: Machine, nominal: Nominal, catalog: Catalog, name: str
) -> None:
    """Where the ratio is folded in the distance says nothing of the gear; elsewhere it does."""
    usual = catalog.drives[name].numbers["drive.usual_diameter"].typical
    folded = {"drive.gear_ratio": 1.0, "drive.rotation_distance": 7.7, "drive.class": name}
    assert nominal(machine(folded), "drive.gear_radius") == pytest.approx(usual * 500.0)
    geared = machine({"drive.class": name})
    assert nominal(geared, "drive.gear_radius") == pytest.approx(47.1 / (2 * math.pi))


def test_a_tube_takes_push_by_its_bends_and_its_length(machine: Machine, nominal: Nominal) -> None:
    """exp(mu phi) on what goes through (Euler, Eytelwein) and a drag by length; both told apart."""
    straight, bent = (
        machine({"drive.path": "bowden", "drive.tube_length": 500.0, "drive.tube_wrap": wrap})
        for wrap in (0.0, 180.0)
    )
    direct = machine()
    friction = load_catalog().model.numbers["model.tube_friction"].typical

    assert nominal(direct, "drive.tube_factor") == 1.0
    assert nominal(bent, "drive.tube_factor") == pytest.approx(math.exp(friction * math.pi))
    assert nominal(straight, "force.path_drag") == pytest.approx(4.5 + 3.0 * 0.5)
    for limit in ("torque", "skip", "grip", "slip", "buckling"):
        flows = [nominal(book, f"flow.{limit}") for book in (direct, straight, bent)]
        assert flows[0] > flows[1] > flows[2], limit
    assert nominal(bent, "flow.melt") == nominal(direct, "flow.melt")


def test_a_tube_that_is_measured_makes_the_path_a_bowden_one(
    machine: Machine, nominal: Nominal
) -> None:
    """A length of the tube is enough; a drag on the spool's side is taken as it was measured."""
    book = machine({"drive.tube_length": 400.0, "model.guide_force": 8.0})
    assert book.facts["drive.path"].text == "bowden"
    assert nominal(book, "force.path_drag") == pytest.approx(8.0 + 3.0 * 0.4)
    # the spool pulls above the gears and does not load the free filament; the tube does
    drag = [nominal(machine({"model.guide_force": n}), "flow.buckling") for n in (2.0, 9.0)]
    assert drag[0] == pytest.approx(drag[1])


def test_a_folded_ratio_with_a_tube_suggests_a_full_size_motor(machine: Machine) -> None:
    """Common practice, no source: geared pancakes sit at the hotend."""
    folded = {**UNNAMED, "drive.gear_ratio": 1.0, "drive.rotation_distance": 7.7}
    with_tube = machine({**folded, "drive.path": "bowden"})
    assert with_tube.facts["motor.class"].text == "square-42-long"


MACHINES: tuple[Mapping[str, Any], ...] = (
    {}, BARE, {**BARE, "hotend.class": "long"}, {"drive.path": "bowden"},
    {**BARE, "filament.material": "tpu-95a"}, {"nozzle.diameter": 0.2},
)  # fmt: skip


@pytest.mark.parametrize("changes", MACHINES, ids=range(len(MACHINES)))
def test_shares_of_measurements_add_up_and_the_largest_is_there(
    machine: Machine, catalog: Catalog, changes: Mapping[str, Any]
) -> None:
    """All that is open is shared out; the input that explains most stands in its group."""
    facts = machine(changes).facts
    groups = measure_groups(facts, catalog.facts, load_measures())
    assert sum(group.share for group in groups) == pytest.approx(1.0)
    assert [g.share for g in groups] == sorted((g.share for g in groups), reverse=True)

    capacity = np.asarray(facts["flow.capacity"].number.si)[1:]
    open_ = facts["flow.capacity"].trace.assumed | facts["flow.capacity"].trace.modelled

    def rank(values: Any) -> np.ndarray:
        return np.argsort(np.argsort(values)).astype(float)

    varied = {
        name: abs(np.corrcoef(rank(np.asarray(facts[name].number.si)[1:]), rank(capacity))[0, 1])
        for name in open_
        if not isinstance(held(facts[name]), str)
        and np.ndim(facts[name].number.si) == 1 and np.ptp(facts[name].number.si) > 0
    }  # fmt: skip
    strongest = max(varied, key=lambda name: varied[name])
    assert strongest in {entry.fact for group in groups for entry in group.inputs}


def test_every_open_number_of_the_catalogue_has_its_measurement(catalog: Catalog) -> None:
    """No input can be what matters most and go unnamed."""
    categories = (catalog.materials, catalog.motors, catalog.hotends, catalog.inserts,
                  catalog.drives, catalog.mounts, catalog.paths)  # fmt: skip
    entries = [catalog.model, *(entry for group in categories for entry in group.values())]
    lacking = {
        name for entry in entries for name, number in entry.numbers.items()
        if not number.exact and group_of(name, load_measures()) is None
    }  # fmt: skip
    assert lacking == set()


def test_a_pull_with_the_hotend_bypassed_is_no_measure_of_the_feed_force() -> None:
    """It measures the drive; the feed force shows in a weighed test."""
    how = {measure.group: measure.how for measure in load_measures()}
    assert how["grip"].startswith("bypass the hotend")
    assert how["feed-force"].startswith("run a weighed flow test")
