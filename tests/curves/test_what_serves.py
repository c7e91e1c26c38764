"""What a motor must have, over all likely machines, and how each motor class serves."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from curve_machines import SAMPLES, machine, nominal, sample
from scipy.optimize import brentq
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.builds.compare import compare
from advisor.answers.curve_records import MotorRow, TorqueReport
from advisor.answers.curves.needs import (
    largest_inductance,
    least_holding_torque,
    motor_needs,
    remarks_on,
)
from advisor.answers.curves.points import Point, points_of, torques
from advisor.answers.curves.samples import column
from advisor.answers.curves.torque import torque_report, voltages
from advisor.answers.lint import check_config
from advisor.catalog import load_catalog
from advisor.machine.graph import FactBook
from advisor.physics import motor
from advisor.report.json import as_json

SUPPLIES = (12.0, 24.0, 48.0)


def drive(
    book: FactBook, i: int, torque: float, inductance: float, volts: float
) -> dict[str, float]:
    """Machine `i` of the ensemble with another motor, as the physics takes it."""

    def of(name: str) -> float:
        return float(column(book, book.samples(name))[i, 0])

    return {
        "current_rms": of("motor.flowing_current"),
        "torque_constant": of("motor.torque_constant") * torque / of("motor.holding_torque"),
        "resistance": of("motor.hot_resistance"),
        "inductance": inductance,
        "pole_pairs": of("motor.pole_pairs"),
        "voltage": volts,
    }


@pytest.mark.parametrize("volts", [24.0, 48.0])
def test_the_needs_are_the_roots_of_the_physics_in_every_likely_machine(volts: float) -> None:
    """Brent's method (scipy) on pull-out torque and corner speed, not on their closed forms."""
    book = sample("healthy", asked="10mm3/s").books["extruder"]
    points = [point for point in points_of(book) if point.asked]
    found = [torques(book, point) for point in points]
    torque = least_holding_torque(book, found)
    speed = np.max(np.stack([point.speed for point in points]), axis=0)
    most = largest_inductance(book, torque, speed, voltage=volts)
    detent = column(book, book.samples("motor.detent_torque")) / column(
        book, book.samples("motor.holding_torque")
    )
    share = column(book, book.samples("motor.usable_share"))

    for i in (0, 1, 7, 100, 1000, 2047):
        fastest = speed[i, 0]
        inductance = brentq(
            lambda x, i=i, fastest=fastest: motor.corner_speed(
                **drive(book, i, torque[i, 0], x, volts)
            ) - fastest / 0.6,
            1e-7, 1.0, xtol=1e-12,
        )  # fmt: skip

        def room(holding: float, i: int = i, inductance: float = inductance) -> float:
            winding = drive(book, i, holding, inductance * 0.9, volts)
            return min(
                share[i, 0] * (motor.pull_out_torque(p.speed[i, 0], **winding)
                               - detent[i, 0] * holding) - x.needed[i, 0]
                for p, x in zip(points, found, strict=True)
            )  # fmt: skip

        assert most[i, 0] == pytest.approx(inductance, rel=1e-6)
        assert torque[i, 0] == pytest.approx(brentq(room, 1e-4, 1.5 * torque[i, 0]), rel=1e-6)


@pytest.mark.parametrize("turns", [1.5, 2.0, 3.0])
def test_a_rewound_motor_has_less_inductance_than_the_limit_loses(turns: float) -> None:
    """Wound for `turns` times the current: L falls with its square, the limit at most with it.

    Same copper volume: R and L go with the turns squared, the torque constant with the turns.
    """
    book = machine("B", supply__voltage=24, motor__flowing_current=0.55, motor__hot_resistance=4.5)
    other = machine("B", supply__voltage=24, motor__flowing_current=0.55 * turns,
                    motor__rated_current=turns, motor__hot_resistance=4.5 / turns**2)  # fmt: skip
    torque, speed = column(book, 0.16), column(book, 9.0)
    here, there = (largest_inductance(b, torque, speed, voltage=24.0)[0, 0] for b in (book, other))

    assert 1 / turns <= there / here < 1.0
    assert there / here > 1 / turns**2
    own = motor.corner_speed(**drive(book, 0, 0.16, 4.5e-3, 24.0))
    rewound = motor.corner_speed(**drive(other, 0, 0.16, 4.5e-3 / turns**2, 24.0))
    assert rewound > 1.2 * own


def needs_of(book: FactBook) -> list[str | None]:
    return [need.why_none for need in motor_needs(book, points_of(book), SUPPLIES)]


def test_a_current_below_the_motors_own_detent_torque_serves_nothing() -> None:
    """0.04 of the rated current against a detent torque of 0.05 of the holding torque."""
    book = machine("A", supply__voltage=24, motor__flowing_current=0.04, demand__stated_flow=5.0)
    told = needs_of(book)
    assert len(told) == 3
    assert all(why is not None and "detent" in why for why in told)
    assert math.isinf(least_holding_torque(book, [torques(book, points_of(book)[0])])[0, 0])


def test_what_never_melts_needs_no_motor() -> None:
    """A nozzle at 120 degC melts no PLA: no torque feeds it."""
    book = machine("A", supply__voltage=24, motor__run_current=0.5, demand__stated_flow=5.0,
                   hotend__temperature=120.0)  # fmt: skip
    assert all(why is not None and "melts" in why for why in needs_of(book))


def test_mere_limits_need_nothing() -> None:
    """Without a point that is asked there is nothing to look a motor for."""
    book = machine("A", supply__voltage=24, motor__run_current=0.5)
    point = Point(
        "extrude-only", "limits", column(book, 10.0), column(book, 20.0), 0.0, asked=False
    )
    assert motor_needs(book, (point,), SUPPLIES) == ()


def test_the_supplies_come_from_the_catalogue() -> None:
    """12, 24 and 48 V are data, each with its source."""
    catalog = load_catalog()
    assert voltages(catalog) == SUPPLIES
    for entry in catalog.category("supplies").values():
        assert entry.numbers["supply.voltage"].source in catalog.sources


def report_of(name: str, asked: str | None = None) -> TorqueReport:
    return torque_report(sample(name, asked=asked), "extruder")


def rows_of(report: TorqueReport, motor: str) -> list[MotorRow]:
    return [row for row in report.motors if row.motor == motor]


def test_every_class_stands_at_every_supply_and_only_the_present_one_is_marked() -> None:
    """Also the one that is merely suggested by the gears."""
    report = report_of("healthy")
    classes = [name for name in load_catalog().category("motors") if name != "unstated"]
    assert [(row.motor, row.voltage) for row in report.motors] == [
        (name, volts) for name in classes for volts in SUPPLIES
    ]
    assert {row.motor for row in report.motors if row.present} == {"round-36"}


def test_more_voltage_never_makes_a_class_worse() -> None:
    """Torque never falls with the supply; nor does the corner speed."""
    for name in ("healthy", "asks-too-much", "mixed-up"):
        report = report_of(name, "9mm3/s")
        for motor_class in {row.motor for row in report.motors}:
            rows = rows_of(report, motor_class)
            margins = [row.margin.value for row in rows if row.margin]
            shares = [row.speed_share.value for row in rows if row.speed_share]
            sure = [row.sure for row in rows]
            assert margins == sorted(margins)
            assert len(margins) == 3
            assert shares == sorted(shares, reverse=True)
            assert sure == sorted(sure, key=float)


@wide
@pytest.mark.parametrize("name", spread(["square-42-short", "square-42-long"], 1))
def test_a_class_runs_at_the_current_that_compare_derates_it_to(name: str) -> None:
    """Two ways to put another motor into the machine give one current and one mass."""
    config = str(SAMPLES / "healthy/printer.cfg")
    vary = [f"motor.class={name}", "motor.run_current=derated"]
    variant = compare(config, Asks(), vary=vary).variants[-1]
    row = rows_of(report_of("healthy"), name)[1]

    assert variant.motor_mass is not None
    assert row.mass is not None
    assert row.working_current is not None
    assert variant.run_current is not None
    assert row.mass.value == pytest.approx(variant.motor_mass.value)
    assert row.working_current.value == pytest.approx(variant.run_current.value, rel=1e-9)


@wide
@only_wide
def test_the_present_class_keeps_the_numbers_of_the_sheet(tmp_path: Path) -> None:
    """A stronger motor of that class: its own margin follows, the others' do not."""
    text = (SAMPLES / "healthy/hardware.yaml").read_text()
    path = tmp_path / "hardware.yaml"
    path.write_text(text.replace("holding_torque: 0.10 N m", "holding_torque: 0.14 N m"))
    config = str(SAMPLES / "healthy/printer.cfg")
    strong, plain = (
        torque_report(check_config(config, Asks(sheet=sheet, asked="9mm3/s")), "extruder")
        for sheet in (str(path), str(SAMPLES / "healthy/hardware.yaml"))
    )

    def margin(report: TorqueReport, name: str) -> float:
        row = rows_of(report, name)[1]
        assert row.margin is not None
        return row.margin.value

    gain = margin(strong, "round-36") / margin(plain, "round-36")
    assert 1.3 < gain < 1.5
    assert margin(strong, "square-42-long") == pytest.approx(margin(plain, "square-42-long"))


def test_the_present_motor_at_its_present_current_has_the_margin_of_its_points() -> None:
    """The healthy sample is set to its derated current at 24 V: both tables say the same."""
    report = report_of("healthy", "10mm3/s")
    row = rows_of(report, "round-36")[1]
    least = min(x.usable.value / x.needed.value for x in report.points if x.asked)
    fastest = max(x.speed_share.value for x in report.points if x.asked)

    assert row.margin is not None
    assert row.speed_share is not None
    assert row.margin.value == pytest.approx(least, rel=1e-6)
    assert row.speed_share.value == pytest.approx(fastest, rel=1e-6)


def test_a_motor_that_bears_no_current_is_told_so(tmp_path: Path) -> None:
    """A PLA mount in a chamber at 60 degC: no class has a current that is low enough."""
    text = (SAMPLES / "healthy/hardware.yaml").read_text()
    path = tmp_path / "hardware.yaml"
    path.write_text(text.replace("mount: metal", "mount: pla").replace("32 degC", "60 degC"))
    asks = Asks(sheet=str(path))
    report = torque_report(check_config(str(SAMPLES / "healthy/printer.cfg"), asks), "extruder")

    assert report.points
    assert all(row.serves is None and row.margin is None for row in report.motors)
    assert all("no current is safe here" in str(row.why_none) for row in report.motors)
    json.loads(as_json(report))


def test_what_no_motor_cures_is_said_with_its_flow() -> None:
    """Each limit below the flow asked, with the flows of lint; nothing of those above it."""
    book = sample("asks-too-much", asked="24mm3/s").books["extruder"]
    words = remarks_on(book, load_catalog(), SUPPLIES)
    for limit, said in (("melt", "melt zone"), ("grip", "slip"), ("buckling", "buckles")):
        flow = nominal(book, f"flow.{limit}") * 1e9
        assert flow < 24.0
        assert any(said in sentence and f"{flow:.3g} mm3/s" in sentence for sentence in words)
    assert nominal(book, "flow.heater") > 24e-9
    assert not any("heater cannot keep" in sentence for sentence in words)
    modest = sample("asks-too-much", asked="3mm3/s").books["extruder"]
    assert not any("makes up" in x for x in remarks_on(modest, load_catalog(), SUPPLIES))


def test_a_supply_above_the_drivers_rating_is_told() -> None:
    """29 V is the chip's limit by its datasheet; nothing is said where it bears the supply."""
    book = sample("healthy").books["extruder"]
    (words,) = (x for x in remarks_on(book, load_catalog(), SUPPLIES) if "driver" in x)
    assert "is rated for 29 V: 48 V takes another" in words
    assert not any("driver" in x for x in remarks_on(book, load_catalog(), (12.0, 24.0)))
