"""The same machine gives the same figures in every command, as text, JSON and page.

One reference: the JSON of `lint`. Each other answer is held against it, to nine digits where it is
JSON or the page's own `data` elements, and as written where it is text.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from cli_answers import Runner
from tiers import spread, wide

from advisor.report.numbers import figure, flow

SAMPLES = ("asks-too-much", "no-sheet", "healthy", "gear-bench", "over-driven", "soft-filament",
           "mixed-up")  # fmt: skip
FIELD = sorted(path.parent.name for path in Path("tests/field").glob("*/printer.cfg"))[::6][:13]
MACHINES = [*(f"samples/{name}/printer.cfg" for name in SAMPLES),
            *(f"tests/field/{name}/printer.cfg" for name in FIELD)]  # fmt: skip


PRINT = "samples/asks-too-much/box.gcode"


def test_there_are_twenty_machines() -> None:
    """Fewer would walk less than is claimed."""
    assert len(MACHINES) == 20


def _close(one: Any, other: Any) -> bool:
    if one is None or other is None:
        return one is other
    return float(one) == pytest.approx(float(other), rel=1e-7)


def _same_band(told: dict[str, Any] | None, fact: dict[str, Any]) -> None:
    if told is None:
        assert fact["value"] is None
        return
    for end in ("value", "low", "high"):
        assert _close(told[end], fact[end] if fact[end] is not None else fact["value"]), end


@wide
@pytest.mark.parametrize("config", spread(MACHINES, 3))
def test_every_command_tells_the_same_figures(run: Runner, config: str) -> None:
    """Capacity, limits, bottleneck, cap and set current of the first extruder."""
    told = run("lint", config, "--format", "json").json
    if not told["extruders"]:
        pytest.skip("a config without an extruder has no figures")
    extruder = told["extruders"][0]
    facts = extruder["facts"]
    capacity = facts["flow.capacity"]
    _flow(run, config, extruder)
    explained = run("explain", "flow.capacity", config, "--format", "json").json["derivation"][0]
    assert _close(explained["value"], capacity["value"])
    assert _close(explained["low"], capacity["low"])
    if capacity["value"] is None:
        return
    _grip(run, config, capacity)
    _compared(run, config, extruder)
    _texts(run, config, capacity)
    page = run("report", config, "--html", "-").out
    assert f'value="{capacity["value"]:.9g}"' in page
    _currents(run, config, told, facts)
    _demanded(run, config, extruder)
    _torque(run, config, facts)
    _derated(run, config, facts)


def _demanded(run: Runner, config: str, extruder: dict[str, Any]) -> None:
    """What a print may ask of each limit is what `lint` says that it can sustain."""
    made = run("demand", PRINT, "--config", config, "--format", "json")
    if not made.out or not made.json["windows"]:
        return
    _same_band(made.json["capacity"], extruder["facts"]["flow.capacity"])
    flows = {one["limit"]: one for one in extruder["limits"]}
    for window in made.json["windows"]:
        for end, own in (("value", "flow"), ("low", "low"), ("high", "high")):
            assert _close(window["allowed"][end], flows[window["limit"]][own]), window["limit"]


def _torque(run: Runner, config: str, facts: dict[str, Any]) -> None:
    """The point of the capacity on the curve of torque lies at the capacity."""
    made = run("torque", config, "--format", "json").json
    area = facts["filament.area"]["value"]  # mm2
    for point in made["points"]:
        if point["name"] == "capacity":
            assert _close(point["filament_speed"]["value"] * area, facts["flow.capacity"]["value"])


def _derated(run: Runner, config: str, facts: dict[str, Any]) -> None:
    """A rating with the sheet, on its own, is derated as the machine's is."""
    sheet = Path(config).with_name("hardware.yaml")
    if not sheet.exists() or facts["motor.rated_current"]["origin"] != "sheet":
        return
    if "extruders:" in sheet.read_text(encoding="utf-8"):  # derate knows no extruder to choose
        return
    made = run("derate", "--sheet", str(sheet), "--format", "json")
    assert made.code == 0
    own = facts["motor.derated_current"]["value"]  # hangs a little on the driver, which lint knows
    assert made.json["derated_current"]["value"] == pytest.approx(own, abs=0.005)


def _flow(run: Runner, config: str, extruder: dict[str, Any]) -> None:
    facts = extruder["facts"]
    made = run("flow", config, "--asked", "9mm3/s", "--format", "json").json
    _same_band(made["capacity"], facts["flow.capacity"])
    assert made["bottleneck"] == extruder["bottleneck"]
    assert _close(made["set_to"], facts["profile.cap_setting"]["value"])
    own = [(one["class"], one["value"], one["set_to"]) for one in extruder["cases"]]
    assert [(one["class"], one["value"], one["set_to"]) for one in made["cases"]] == own


def _grip(run: Runner, config: str, capacity: dict[str, Any]) -> None:
    made = run("grip", config, "--format", "json").json
    if made["flow_is"] == "the capacity as it is":
        _same_band(made["flow"], capacity)


def _compared(run: Runner, config: str, extruder: dict[str, Any]) -> None:
    made = run("compare", config, "--vary", "nozzle.diameter=0.4mm", "--format", "json").json
    first = made["variants"][0]
    _same_band(first["capacity"], extruder["facts"]["flow.capacity"])
    assert first["bottleneck"] == extruder["bottleneck"]
    for one, other in zip(first["limits"], extruder["limits"], strict=True):
        assert one["limit"] == other["limit"]
        assert _close(one["flow"], other["flow"]), one["limit"]
    for name, fact in (("derated_current", "motor.derated_current"),
                       ("run_current", "motor.working_current")):  # fmt: skip
        if first[name] is not None:
            assert _close(first[name]["value"], extruder["facts"][fact]["value"]), name
    trusted, torque = first["retract_trusted"], first["retract_torque"]
    if trusted is not None and torque is not None:  # columns of one table do not contradict
        for end in ("value", "low", "high"):
            assert trusted[end] <= torque[end] * (1 + 1e-9)


def _texts(run: Runner, config: str, capacity: dict[str, Any]) -> None:
    """The figure of the text is that of the JSON, rounded for show."""
    lint = run("lint", config).out
    assert re.search(rf"^capacity    {re.escape(flow(capacity['value']))} ", lint, re.MULTILINE)
    told = run("flow", config, "--asked", "9mm3/s").out
    found = re.search(r"^capacity +([\d.]+)", told, re.MULTILINE)
    assert found is not None
    assert found[1] in {flow(capacity["value"]), figure(capacity["value"], 2),
                        figure(capacity["value"], 3)}  # fmt: skip


def _currents(run: Runner, config: str, told: dict[str, Any], facts: dict[str, Any]) -> None:
    """Where `lint` says what current to set, it is the set current, and `mend` writes it."""
    fixes = [one["fix"]["to"] for one in told["findings"]
             if one["fix"] and one["fix"]["setting"] == "run_current"
             and one["extruder"] == told["extruders"][0]["name"]]  # fmt: skip
    if not fixes:
        return
    assert len({float(to) for to in fixes}) == 1
    assert float(fixes[0]) <= facts["motor.set_current"]["value"] + 1e-9
    edits = run("mend", config, "--format", "json").json["edits"]
    written = [one["to"] for one in edits if one["setting"] == "run_current"
               and one["extruder"] == told["extruders"][0]["name"]]  # fmt: skip
    assert [float(to) for to in written] == [float(fixes[0])]
