"""Every figure of the page is that of the command whose figure it is: the samples are walked."""

from __future__ import annotations

import dataclasses
import math

import pytest
from every import every
from tiers import only_wide, spread, wide
from tuning_answers import NAMES, SAMPLES, asks, checked, config, page

from advisor.answers.curves.points import operating_points, points_of
from advisor.answers.derate_motor import derate
from advisor.answers.flow_limit import flow, flow_report
from advisor.answers.tuning.answer import SessionTexts, tuning_session

_LINE = SessionTexts(widths="0.45", heights="0.2", materials=("petg",))


@wide
@every("name", spread(NAMES, 3))
def test_cap_and_capacity_are_those_of_flow(name: str) -> None:
    """The cap, its cases, the capacity and what limits first."""
    told, due = page(name), flow_report("extruder", checked(name))
    assert (told.cap, told.no_cap, told.capacity, told.bottleneck) == (
        due.set_to, due.no_set_to, due.capacity, due.bottleneck,
    )  # fmt: skip
    assert told.cases == (due.cases if due.set_to is None else ())


@wide
@only_wide
def test_with_a_weighed_test_the_cap_is_flows_and_so_is_the_row() -> None:
    """The present row has the cap without the test and with it."""
    plain = flow(config("healthy"), asks("healthy", draws=None))
    told = page("healthy", weighed=True)
    assert told.cap == flow_report("extruder", checked("healthy", weighed=True)).set_to
    (row,) = (row for row in told.caps if row.present)
    assert (row.weighed, row.cautious) == (told.cap, plain.set_to)
    assert plain.capacity is not None
    assert row.typical == pytest.approx(plain.capacity.value, rel=1e-9)
    assert all(row.weighed is None for row in page("healthy").caps)


def test_a_feature_of_the_profile_is_as_fast_as_flow_says() -> None:
    """Where a feature is too fast, `flow` tells the whole speed that fits: the typical ceiling."""
    told, due = page("asks-too-much"), flow_report("extruder", checked("asks-too-much"))
    speeds = {(row.width, row.height): math.floor(row.typical) for row in told.ceilings}
    fitted = [one for one in due.features if one.speed_that_fits is not None]
    assert len(fitted) > 2
    for one in fitted:
        assert speeds[round(one.width or 0, 6), round(one.height or 0, 6)] == one.speed_that_fits


@every("name", ["asks-too-much", "healthy", "soft-filament"])
def test_a_cap_of_another_filament_is_flows(name: str) -> None:
    """PETG in the middle of its range, its temperature stated; the machine's own row is its cap."""
    told = page(name)
    (row,) = (r for r in told.caps if r.material == "petg" and r.temperature == 240.0)
    other = dataclasses.replace(asks(name), material="petg", fields=("filament.temperature=240C",))
    due = flow(config(name), other)
    assert due.capacity is not None
    assert row.cautious == due.set_to
    assert row.typical == pytest.approx(due.capacity.value, rel=1e-9)
    (own,) = (r for r in told.caps if r.present)
    assert own.cautious == told.cap


@every("name", NAMES)
def test_nothing_is_told_outside_of_a_filaments_range(name: str) -> None:
    """The ranges are the catalogue's; inside of them there is a figure."""
    from advisor.catalog import load_catalog

    for row in page(name).caps:
        numbers = load_catalog().materials[row.material].numbers
        low, high = (numbers[f"material.nozzle_{end}"].typical - 273.15 for end in ("low", "high"))
        assert row.in_range == (low - 0.011 <= row.temperature <= high + 0.011)
        assert (row.typical is None) == (not row.in_range)
        assert row.in_range or (row.cautious, row.weighed) == (None, None)


@every("name", NAMES)
def test_currents_are_those_of_lint(name: str) -> None:
    """What is set, applied, held, and the largest to set; the case where the current may stay."""
    told = page(name).current
    book = checked(name).books["extruder"]
    assert told is not None
    assert told.set_now == book.nominal("motor.run_current")
    assert told.hold == book.nominal("motor.hold_current")
    assert told.most == book.nominal("motor.set_current")
    if told.at == told.set_now:
        assert told.stop is not None
        book = book.aside()
        from advisor.machine import band_of, chain_motor

        book.derive_all(chain_motor.WARMING)
        assert told.case_soon == band_of(book.facts["motor.case_soon"])
        assert told.case_later == band_of(book.facts["motor.case_later"])
    else:
        assert told.most is not None
        assert told.at == told.most < (told.set_now or 0.0)


@wide
@only_wide
@every("name, chip", [("healthy", "tmc2209"), ("over-driven", "tmc2209")])
def test_the_case_at_the_largest_current_is_derates(name: str, chip: str) -> None:
    """Where that is what is set, or more is: 10 minutes, an hour, and when to stop."""
    told = tuning_session(config(name), asks(name, draws=None), _LINE).current
    due = derate(sheet=str(SAMPLES / name / "hardware.yaml"), driver=chip, sense_resistor="0.11")
    assert told is not None
    assert told.most == due.set_current == told.at
    assert told.stop == due.stop_reading
    assert told.case_soon is not None
    assert due.case_soon is not None
    assert told.case_soon.value == pytest.approx(due.case_soon.value, rel=1e-9)
    assert told.case_later is not None
    assert due.case_later is not None
    assert told.case_later.value == pytest.approx(due.case_later.value, rel=1e-9)


@every("name", NAMES)
def test_retracts_are_judged_as_by_torque_and_lint(name: str) -> None:
    """Inside: needed within usable, the speed trusted; the largest speed is lint's fix."""
    told, book = page(name), checked(name).books["extruder"]
    due = {one.name: one for one in operating_points(book, points_of(book))}
    trusted = book.nominal("model.speed_share_trusted")
    for one in told.retracts:
        point = due[one.name]
        fast = point.speed_share.value <= (trusted or 0.0)
        assert one.inside == (fast and point.needed.value <= point.usable.value)
        assert one.reached == pytest.approx(point.filament_speed.value, rel=1e-9)
        fact = "profile" if one.name == "profile-retract" else "motion"
        fix = book.nominal(f"{fact}.retract_speed_fits")
        assert fix is None or one.largest_speed == pytest.approx(fix * 1e3, rel=1e-9)


@wide
@only_wide
@every("name", [n for n in NAMES if n != "no-sheet"])
def test_advance_at_a_usual_line_is_judged_as_by_torque(name: str) -> None:
    """A usual line at the cap: the point of `torque --asked CAP`, and its share of corner speed."""
    told = page(name, texts=_LINE)
    if told.advance is None:
        assert told.no_advance is not None
        return
    machine = checked(name).machines["extruder"]
    book = machine.with_({"demand.stated_flow": (told.cap or 0.0) / 1e9}).book
    (point,) = (p for p in operating_points(book, points_of(book)) if p.name == "advance")
    fast = point.speed_share.value <= told.advance.trusted_share
    assert told.advance.inside == (fast and point.needed.value <= point.usable.value)
