"""The same machine gives the same figures in every command, as text, JSON and page.

One reference: the JSON of `lint`. Each other answer is held against it, to nine digits where it is
JSON or the page's own `data` elements, and as written where it is text. So it is with what a
weighed test showed, with a field of the sheet stated beside the command, and without any sheet.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from cli_answers import Runner
from tiers import only_wide, spread, wide

from advisor.report import pictures
from advisor.report.numbers import flow

SAMPLES = ("asks-too-much", "no-sheet", "healthy", "gear-bench", "over-driven", "soft-filament",
           "mixed-up")  # fmt: skip
FIELD = sorted(path.parent.name for path in Path("tests/field").glob("*/printer.cfg"))[::6][:13]
MACHINES = [*(f"samples/{name}/printer.cfg" for name in SAMPLES),
            *(f"tests/field/{name}/printer.cfg" for name in FIELD)]  # fmt: skip


Given = tuple[str, ...]

# What is given beside the config: a weighed test, fields of the sheet, both, or no sheet at all
GIVEN = (
    ("samples/no-sheet", ("--with", "hotend.class=long")),
    ("samples/healthy", ("--weighed", "samples/healthy/flow-test.csv")),
    ("samples/healthy", ("--weighed", "samples/healthy/flow-test.csv",
                         "--with", "motor.rated_current=0.9 A peak")),
    ("samples/healthy", ("--with", "hotend.class=long")),
    ("samples/asks-too-much", ("--with", "hotend.insert=split-3")),
    ("samples/asks-too-much", ("--with", "motor.rated_current=0.7 A peak",
                               "--with", "drive.driven_gears=2")),
    ("samples/gear-bench", ("--with", "drive.mount=petg", "--with", "supply.voltage=48 V")),
    ("samples/no-sheet", ("--with", "hotend.class=standard", "--with", "drive.driven_gears=2",
                          "--with", "motor.rated_current=1.0 A peak")),
    ("samples/no-sheet", ("--weighed", "TABLE")),
    ("samples/over-driven", ("--with", "motor.class=square-42-long")),
    ("samples/asks-too-much", ()),
    ("samples/no-sheet", ()),
)  # fmt: skip
BARE = ("samples/asks-too-much", "samples/healthy", "samples/over-driven", "samples/no-sheet")
_TABLE = """# Invented: a weighed flow test of a machine without a sheet
# material: pla
# temperature: 215 degC
# nozzle: 0.4 mm
# scale: 0.01 g
step; flow [mm3/s]; length [mm]; pieces; mass [g]; skipped; note
1; 3.8; 280; 1; 0.83; no;
2; 7.6; 280; 1; 0.83; no;
3; 9.8; 280; 1; 0.82; no;
4; 11.3; 280; 1; 0.80; no;
5; 12.6; 280; 1; 0.74; no;
6; 13.9; 280; 1; 0.60; yes;
7; 3.8; 280; 1; 0.83; no;
"""

PRINT = "samples/asks-too-much/box.gcode"


@pytest.fixture(autouse=True)
def without_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """The figures of a page stand in its text: pictures would only take time."""
    monkeypatch.setattr(pictures, "available", lambda: False)


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
@pytest.mark.parametrize("config", spread(MACHINES, 1, 6))
def test_every_command_tells_the_same_figures(run: Runner, config: str) -> None:
    """Capacity, limits, bottleneck, cap and set current of the first extruder."""
    _walk(run, config, ())


@wide
@pytest.mark.parametrize(("folder", "given"), spread(GIVEN, 1, 6))
def test_so_it_is_with_what_is_given_beside_the_config(
    run: Runner, tmp_path: Path, folder: str, given: Given
) -> None:
    """A weighed test, fields of the sheet, both: in each command that takes them."""
    table = tmp_path / "table.csv"
    table.write_text(_TABLE, encoding="utf-8")
    _walk(run, f"{folder}/printer.cfg",
          tuple(str(table) if one == "TABLE" else one for one in given))  # fmt: skip


@wide
@only_wide
@pytest.mark.parametrize("folder", BARE)
def test_so_it_is_without_a_sheet(run: Runner, tmp_path: Path, folder: str) -> None:
    """The config alone: the cases by class are the same everywhere, and no cap stands beside."""
    config = tmp_path / "printer.cfg"
    config.write_bytes(Path(folder, "printer.cfg").read_bytes())
    _walk(run, str(config), ())


def _walk(run: Runner, config: str, given: Given) -> None:
    told = run("lint", config, *given, "--format", "json").json
    if not told["extruders"]:
        pytest.skip("a config without an extruder has no figures")
    extruder = told["extruders"][0]
    facts = extruder["facts"]
    capacity = facts["flow.capacity"]
    assert bool(extruder["weighed"]) == ("--weighed" in given)
    _flow(run, config, given, extruder)
    if "--weighed" not in given:  # which `explain` does not take
        _explained(run, config, given, capacity)
    if capacity["value"] is None:
        return
    _session(run, config, given, extruder)
    _grip(run, config, given, capacity)
    _compared(run, config, given, extruder)
    _texts(run, config, given, capacity)
    page = run("report", config, *given, "--html", "-").out
    assert f'value="{capacity["value"]:.9g}"' in page
    for current in _told_currents(told):
        assert f"{float(current):.9g}" in page
    _currents(run, config, given, told, facts)
    _demanded(run, config, given, extruder)
    _torque(run, config, given, facts)
    if "--weighed" not in given:
        _derated(run, config, given, facts)


def _explained(run: Runner, config: str, given: Given, capacity: dict[str, Any]) -> None:
    made = run("explain", "flow.capacity", config, *given, "--format", "json")
    for end in ("value", "low", "high"):
        assert _close(made.json["derivation"][0][end], capacity[end])


def _session(run: Runner, config: str, given: Given, extruder: dict[str, Any]) -> None:
    """The page has the cap and cases of `flow`, the capacity and currents of `lint`."""
    facts = extruder["facts"]
    told = run("session", config, *given, "--materials", "pla", "--format", "json").json
    due = run("flow", config, *given, "--format", "json").json
    assert told["cap"] == due["set_to"]
    assert told["no_cap"] == due["no_set_to"]
    assert told["bottleneck"] == due["bottleneck"]
    _same_band(told["capacity"], facts["flow.capacity"])
    _same_band(told["skip"], facts["flow.skip"])
    for name, fact in (("set_now", "motor.run_current"), ("most", "motor.set_current"),
                       ("hold", "motor.hold_current")):  # fmt: skip
        assert _close(told["current"][name], facts.get(fact, {"value": None})["value"])
    _advance(told["advance"], facts)
    for row in told["retracts"]:
        part = "profile" if row["name"] == "profile-retract" else "motion"
        fits = facts.get(f"{part}.retract_speed_fits")
        assert fits is None or _close(row["largest_speed"], fits["value"])


def _advance(told: dict[str, Any] | None, facts: dict[str, Any]) -> None:
    """The page's line is that of `lint`, and so is the acceleration that it allows."""
    fits = facts.get("motion.max_accel_fits")
    if told is None or fits is None or fits["value"] is None:
        return
    line = told["line"]
    for part in ("width", "height"):
        assert _close(line[part], facts[f"motion.line_{part}"]["value"])
    assert not line["inside"]
    if line["limit"] == "speed":  # which is what `lint` judges
        assert _close(line["acceleration"], fits["value"])


def test_lint_mend_and_session_name_one_acceleration(run: Runner) -> None:
    """With a profile and without: one line and one figure, before the edits and after."""
    config, profile = "samples/asks-too-much/printer.cfg", "samples/asks-too-much/profile.ini"
    for given, line in ((("--profile", profile), "0.52 x 0.24"), ((), "0.45 x 0.2")):
        lint, session = (run(name, config, *given) for name in ("lint", "session"))
        mended = run("mend", config, *given)
        texts = [" ".join((one.out + one.err).split()) for one in (lint, mended, session)]
        found = [set(re.findall("max_accel to ([0-9]+) mm", text)) for text in texts[:2]]
        found.append(set(re.findall(f"at most ([0-9]+) mm/s² at {line}", texts[2])))
        assert len(set.union(*found)) == 1
        assert all(found)
        assert all(f"at a line of {line} mm" in text for text in texts[:2])


def _demanded(run: Runner, config: str, given: Given, extruder: dict[str, Any]) -> None:
    """What a print may ask of each limit is what `lint` says that it can sustain."""
    made = run("demand", PRINT, "--config", config, *given, "--format", "json")
    if not made.out or not made.json["windows"]:
        return
    _same_band(made.json["capacity"], extruder["facts"]["flow.capacity"])
    flows = {one["limit"]: one for one in extruder["limits"]}
    for window in made.json["windows"]:
        for end, own in (("value", "flow"), ("low", "low"), ("high", "high")):
            assert _close(window["allowed"][end], flows[window["limit"]][own]), window["limit"]
    classes = [(one["class"], one["value"], one["set_to"]) for one in extruder["cases"]]
    assert [(one["class"], one["value"], one["set_to"]) for one in made.json["cases"]] == classes
    assert made.json["levers"] == extruder["levers"]
    cap, removes = extruder["facts"]["profile.cap_setting"]["value"], made.json["cap_that_removes"]
    if removes is not None:
        assert cap is not None
        assert removes <= cap * (1 + 1e-9)


def _torque(run: Runner, config: str, given: Given, facts: dict[str, Any]) -> None:
    """The point of the capacity on the curve of torque lies at the capacity."""
    made = run("torque", config, *given, "--format", "json").json
    area = facts["filament.area"]["value"]  # mm2
    for point in made["points"]:
        if point["name"] == "capacity":
            assert _close(point["filament_speed"]["value"] * area, facts["flow.capacity"]["value"])


def _derated(run: Runner, config: str, given: Given, facts: dict[str, Any]) -> None:
    """A rating with the sheet, on its own, is derated as the machine's is."""
    sheet = Path(config).with_name("hardware.yaml")
    if not sheet.exists() or facts["motor.rated_current"]["origin"] != "sheet":
        return
    if "extruders:" in sheet.read_text(encoding="utf-8"):  # derate knows no extruder to choose
        return
    made = run("derate", "--sheet", str(sheet), *given, "--format", "json")
    assert made.code == 0
    own = facts["motor.derated_current"]["value"]  # hangs a little on the driver, which lint knows
    assert made.json["derated_current"]["value"] == pytest.approx(own, abs=0.005)


def _flow(run: Runner, config: str, given: Given, extruder: dict[str, Any]) -> None:
    facts = extruder["facts"]
    made = run("flow", config, *given, "--asked", "9mm3/s", "--format", "json").json
    _same_band(made["capacity"], facts["flow.capacity"])
    assert made["bottleneck"] == extruder["bottleneck"]
    assert _close(made["set_to"], facts["profile.cap_setting"]["value"])
    own = [(one["class"], one["value"], one["set_to"]) for one in extruder["cases"]]
    assert [(one["class"], one["value"], one["set_to"]) for one in made["cases"]] == own
    assert made["levers"] == extruder["levers"]
    assert made["weighed"] == extruder["weighed"]


def _grip(run: Runner, config: str, given: Given, capacity: dict[str, Any]) -> None:
    made = run("grip", config, *given, "--format", "json").json
    if made["flow_is"] == "the capacity as it is":
        _same_band(made["flow"], capacity)


def _compared(run: Runner, config: str, given: Given, extruder: dict[str, Any]) -> None:
    varied = ("--vary", "nozzle.diameter=0.4mm")
    made = run("compare", config, *given, *varied, "--format", "json").json
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


def _texts(run: Runner, config: str, given: Given, capacity: dict[str, Any]) -> None:
    """The figure of the text is that of the JSON, rounded for show."""
    lint = run("lint", config, *given).out
    assert re.search(rf"^capacity    {re.escape(flow(capacity['value']))} ", lint, re.MULTILINE)
    told = run("flow", config, *given, "--asked", "9mm3/s").out
    found = re.search(r"^capacity +([\d.]+)", told, re.MULTILINE)
    assert found is not None
    assert found[1] == flow(capacity["value"])


def _told_currents(told: dict[str, Any]) -> list[str]:
    """Return the currents that `lint` says to set for the first extruder."""
    return [one["fix"]["to"] for one in told["findings"]
            if one["fix"] and one["fix"]["setting"] == "run_current"
            and one["extruder"] == told["extruders"][0]["name"]]  # fmt: skip


def _currents(
    run: Runner, config: str, given: Given, told: dict[str, Any], facts: dict[str, Any]
) -> None:
    """Where `lint` says what current to set, it is the set current, and `mend` writes it."""
    fixes = _told_currents(told)
    if not fixes:
        return
    assert len({float(to) for to in fixes}) == 1
    assert float(fixes[0]) <= facts["motor.set_current"]["value"] + 1e-9
    edits = run("mend", config, *given, "--format", "json").json["edits"]
    written = [one["to"] for one in edits if one["setting"] == "run_current"
               and one["extruder"] == told["extruders"][0]["name"]]  # fmt: skip
    assert [float(to) for to in written] == [float(fixes[0])]


@wide
def test_mend_says_each_caution_once_and_no_rounding_of_an_exact_value(run: Runner) -> None:
    """Nor does what is left begin with an "Or" that no edit stands before."""
    made = run("mend", "samples/over-driven/printer.cfg")
    told = " ".join((made.out + made.err).split())
    assert "stealthchop_threshold: 999999 -> 0" in told
    assert told.count("the whole set current flows") == 1
    assert "silent_threshold: 0 mm/s" not in told
    assert re.search(r"fix +Lower the extrude-only acceleration", told)
    for command, config in spread(_TOLD, 2):
        made = run(command, f"samples/{config}/printer.cfg", *_FULL[command])
        told = " ".join((made.out + made.err).split())
        assert not re.search(r"\b(fix|or) +Or ", told), (command, config)


_FULL = {"lint": ("--full",), "mend": ()}
_TOLD = [(command, config) for command in _FULL
         for config in ("over-driven", "mixed-up", "soft-filament")]  # fmt: skip
