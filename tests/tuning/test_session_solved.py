"""The largest acceleration and retract are inside, and one step more is outside.

Each is tried on the machine itself, changed by `Machine.with_`: by the facts that lint's rules
look at, and the operating point of `torque`.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from every import every
from hypothesis import given, settings, strategies as st
from tiers import examples, spread, wide
from tuning_answers import SLUGGISH, asks, checked, config, page

from advisor.answers.curves.points import operating_points, points_of
from advisor.answers.lint import check_config
from advisor.answers.tuning.answer import SessionTexts, tuning_session
from advisor.answers.tuning.inside import AtFlow, advance_limits, largest_steps
from advisor.answers.tuning.lines import Lines
from advisor.machine import Machine, stated_classes
from advisor.physics import motion

FEW = SessionTexts(widths="0.4,0.6", heights="0.3", materials=("pla",))
MACHINES = [
    ("asks-too-much", ()),
    ("no-sheet", ()),
    ("soft-filament", ()),
    ("asks-too-much", SLUGGISH),
]


def _inside(machine: Machine, acceleration: float, width: float, height: float, cap: float) -> bool:
    """Whether the rules' own share and torque's own point find the peak inside; mm, mm/s2.

    The torque at the cap; the share at the capacity, the most that is ever fed.
    """
    made = machine.nominal().with_(
        {
            "motion.line_area": float(motion.bead_area(width=width / 1e3, height=height / 1e3)),
            "demand.stated_flow": cap / 1e9,
            "motion.max_accel": acceleration / 1e3,
        }
    )
    most = made.book.nominal("flow.capacity") or 0.0
    share = made.with_({"demand.stated_flow": most}).book.nominal("motion.advance_speed_share")
    (point,) = (p for p in operating_points(made.book, points_of(made.book)) if p.name == "advance")
    assert share is not None
    trusted = made.book.nominal("model.speed_share_trusted") or 0.0
    return share <= trusted and point.needed.value <= point.usable.value


@wide
@every("name, fields", spread(MACHINES, 1))
def test_the_largest_acceleration_is_inside_and_one_step_more_is_not(
    name: str, fields: tuple[str, ...]
) -> None:
    """For each line; where none is told, the smallest step is outside already."""
    told = page(name, fields=fields, texts=FEW)
    machine = checked(name, fields=fields).machines["extruder"]
    assert told.advance is not None
    caps = {case.name: case.set_to for case in told.cases} or {None: told.cap}
    at = {None: machine}
    for case in told.cases:
        at[case.name] = machine.with_({**stated_classes(machine.book), case.field: case.name})
    step = told.advance.step
    assert len(told.advance.rows) == 2 * len(caps)
    for row in told.advance.rows:
        where = (at[row.case], row.width, row.height, caps[row.case] or 0.0)
        build, *line = where
        most = row.acceleration or 0.0
        assert most == 0.0 or _inside(build, most, *line)
        assert row.limit is None or not _inside(build, most + step, *line)
        assert row.inside == _inside(build, told.advance.acceleration, *line)


def test_torque_binds_where_the_rotor_is_heavy_and_the_advance_small() -> None:
    """The limit that one step more exceeds is named, and is the one that is short there."""
    machine = checked("asks-too-much", fields=SLUGGISH).machines["extruder"]
    heavy = machine.with_({"motion.pressure_advance": 0.004})
    cap = page("asks-too-much", texts=FEW).cap or 0.0
    lines = Lines((0.4e-3, 0.6e-3), (0.2e-3,))
    told = advance_limits(heavy, lines, [AtFlow(None, heavy, cap / 1e9)])
    light = page("asks-too-much", texts=FEW).advance
    assert told is not None
    assert light is not None
    assert {row.limit for row in told.rows} == {"torque"}
    assert {row.limit for row in light.rows} == {"speed"}
    for row in told.rows:
        most = row.acceleration or 0.0
        assert _inside(heavy, most, row.width, row.height, cap)
        assert not _inside(heavy, most + told.step, row.width, row.height, cap)


def test_a_thicker_line_allows_less() -> None:
    """More filament at the same acceleration of the head: the product of both counts."""
    told = page("asks-too-much", texts=FEW).advance
    assert told is not None
    by_area = sorted((row.width * row.height, row.acceleration) for row in told.rows)
    assert [most for _, most in by_area] == sorted((m for _, m in by_area), reverse=True)


def _retracts(machine: Machine, name: str, changes: dict[str, float]) -> bool:
    made = machine.nominal().with_(changes).book
    part = "profile" if name == "profile-retract" else "motion"
    names = (f"{part}.retract_force", "motion.retract_load", f"{part}.retract_speed_share",
             "model.speed_share_trusted")  # fmt: skip
    force, load, share, trusted = (made.nominal(one) or 0.0 for one in names)
    return force >= load and share <= trusted


@every("name, fields", MACHINES)
def test_the_largest_retract_is_inside_and_one_step_more_is_not(
    name: str, fields: tuple[str, ...]
) -> None:
    """Speed in steps of 1 mm/s at the set acceleration, and the other way round by 100 mm/s2."""
    machine = checked(name, fields=fields).machines["extruder"]
    for one in page(name, fields=fields, texts=FEW).retracts:
        part = "profile" if one.name == "profile-retract" else "motion"
        rows = (
            (f"{part}.retract_speed", 1.0, one.largest_speed, one.speed_limit),
            ("motion.max_extrude_only_accel", 100.0, one.largest_acceleration,
             one.acceleration_limit),
        )  # fmt: skip
        for fact, step, largest, limit in rows:
            most = largest or 0.0
            assert most == 0.0 or _retracts(machine, one.name, {fact: most / 1e3})
            assert limit is None or not _retracts(machine, one.name, {fact: (most + step) / 1e3})


@settings(max_examples=examples(6, 40, 40))
@given(st.lists(st.integers(0, 70), min_size=1, max_size=6))
def test_halving_finds_the_last_step_that_holds(ends: list[int]) -> None:
    """Against looking at every step, for any ends, those beyond the largest too."""
    limits = np.array(ends)
    found = largest_steps(lambda steps: steps <= limits, len(ends), 60)
    assert list(found) == [min(end, 60) for end in ends]


def test_without_advance_nothing_is_told_of_it() -> None:
    """The page says why, and that the session measures it."""
    told = page("gear-bench", texts=FEW)
    assert told.advance is None
    assert told.no_advance is not None
    assert "measures" in told.no_advance


def test_what_may_not_be_fed_comes_first() -> None:
    """A current above its limit and silent mode; nothing where all is well."""
    assert page("healthy").inside
    told = page("over-driven")
    assert not told.inside
    assert len(told.first) == 2
    assert told.current is not None
    assert told.current.silent_gives == pytest.approx(0.663, abs=1e-3)


@every("profiled, line", [(False, (0.45, 0.2)), (True, (0.52, 0.24))])
def test_lint_and_the_page_name_one_acceleration_for_one_line(
    profiled: bool, line: tuple[float, float]
) -> None:
    """The line is the profile's where there is one: that with the most filament."""
    given = dataclasses.replace(asks("asks-too-much"), **({} if profiled else {"profiles": ()}))
    told = tuning_session(config("asks-too-much"), given, FEW).advance
    assert told is not None
    assert (told.line.width, told.line.height) == line
    report = check_config(config("asks-too-much"), given).report
    (finding,) = (f for f in report.findings if f.rule == "advance-peak-past-corner")
    assert f"at a line of {line[0]:g} x {line[1]:g} mm" in finding.message
    assert f"max_accel to {told.line.acceleration:.0f} mm/s" in finding.advice


def test_a_smaller_flow_gives_no_other_acceleration() -> None:
    """Edits that lower the cap leave the figure as it was; the profile's request is no matter."""
    given = dataclasses.replace(asks("asks-too-much"), profiles=())
    figures = {
        check_config(config("asks-too-much"), dataclasses.replace(given, asked=flow))
        .machines["extruder"].book.nominal("motion.max_accel_fits")
        for flow in (None, "4mm3/s", "8.4mm3/s", "24mm3/s")
    }  # fmt: skip
    assert figures == {10.1}
