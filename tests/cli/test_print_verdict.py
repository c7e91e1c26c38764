"""One verdict on a print: `demand` in text and JSON, `lint --print`, `report` and `torque`."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_answers import Runner
from tiers import only_wide, wide

CONFIG = Path(__file__).resolve().parents[2] / "samples" / "healthy" / "printer.cfg"
AREA = 2.405  # mm2 of 1.75 mm filament
WORDS = {
    "fits": "it fits",
    "fits-except": "it fits except",
    "does-not-fit": "it does not fit",
}


def lines(count: int, *, lasts: float, flow: float, rest: int = 0) -> str:
    """Return lines of `lasts` s at `flow` mm3/s, 100 mm/s, with a pause of `rest` ms after each."""
    length = 100.0 * lasts
    return "".join(
        f"G1 X{length * (k % 2 == 0):.2f} E{flow * lasts / AREA:.5f} F6000\nG4 P{rest}\n"
        for k in range(count)
    )


def printed(tmp_path: Path, limits: dict[str, float], verdict: str) -> Path:
    """Return a print that fits, fits but for one place between torque and skip, or skips."""
    slow = lines(300, lasts=1.5, flow=0.6 * limits["torque"])
    text = {
        "fits": slow,
        "fits-except": slow
        + lines(1, lasts=0.3, flow=0.5 * (limits["torque"] + min(limits["skip"], limits["grip"]))),
        "does-not-fit": lines(200, lasts=0.4, flow=1.6 * limits["skip"], rest=2000),
    }[verdict]
    path = tmp_path / f"{verdict}.gcode"
    path.write_text("G90\nM83\nG92 X0 Y0 Z0\n" + text)
    return path


@only_wide
@wide
@pytest.mark.parametrize("verdict", list(WORDS))
def test_every_command_gives_the_same_verdict(run: Runner, tmp_path: Path, verdict: str) -> None:
    """The third print is one that a mean over the melt zone would let pass: lines of 0.4 s at 1.6
    times the flow that skips, two seconds apart."""
    given = ("--sheet", str(CONFIG.parent / "hardware.yaml"))
    flat = run("lint", str(CONFIG), *given, "--format", "json").json
    limits = {one["limit"]: one["flow"] for one in flat["extruders"][0]["limits"]}
    path = str(printed(tmp_path, limits, verdict))

    told = run("demand", path, "--config", str(CONFIG), *given, "--format", "json")
    assert told.json["verdict"] == verdict
    assert told.code == (1 if verdict == "does-not-fit" else 0)
    assert told.json["exceeds"] is (verdict == "does-not-fit")
    asked = {row["limit"]: row for row in told.json["windows"]}
    if verdict == "does-not-fit":
        assert asked["melt"]["asked"] < asked["melt"]["allowed"]["value"]
        assert asked["melt"]["share_of_time_above"] == 0.0
        assert asked["skip"]["share_of_time_above"] > 0.5
    if verdict == "fits-except":
        assert told.json["place_count"] == 1
        assert 0.0 < told.json["share_of_time_above_any_limit"] < 1e-3
        assert told.json["cap_that_removes"] <= asked["torque"]["allowed"]["value"]

    text = run("demand", path, "--config", str(CONFIG), *given).out
    assert text.splitlines()[0].startswith(f"answer      {WORDS[verdict]}")
    assert len(text.splitlines()) <= 30

    lint = run("lint", str(CONFIG), *given, "--print", path, "--format", "json").json
    facts = lint["extruders"][0]["facts"]
    assert facts["demand.print_verdict"]["value"] == verdict
    assert facts["demand.asked_push"]["value"] == asked["torque"]["asked"]
    rules = [x["rule"] for x in lint["findings"] if x["rule"].startswith("print-")]
    assert rules == ([] if verdict == "fits" else [f"print-{verdict}"])

    page = tmp_path / "page.html"
    run("report", str(CONFIG), *given, "--print", path, "--html", str(page))
    shown = page.read_text(encoding="utf-8")
    assert shown.count(WORDS[verdict]) >= 2
    others = [words for words in WORDS.values() if words not in WORDS[verdict]]
    rest = shown.replace("; it fits with a cap", "")
    assert not [words for words in others if words in rest]

    torque = run("torque", str(CONFIG), *given, "--print", path, "--format", "json").json
    point = next(x for x in torque["points"] if x["name"] == "asked")
    assert point["asked"] is True
    speed = asked["torque"]["asked"] / AREA
    assert point["filament_speed"]["value"] == pytest.approx(speed, rel=2e-3)


HOTENDLESS = """[printer]
kinematics: corexy
max_velocity: 300
max_accel: 3000
[extruder]
microsteps: 16
rotation_distance: 22.6789511
gear_ratio: 50:10
nozzle_diameter: 0.4
filament_diameter: 1.75
max_extrude_only_velocity: 25
max_extrude_only_accel: 5
[tmc2209 extruder]
run_current: 0.5
"""


@wide
@only_wide
def test_what_the_firmware_slows_is_told_everywhere(run: Runner, tmp_path: Path) -> None:
    """Retracts of 60 mm/s at a limit of 25, of half a millimetre at 5 mm/s2 (0.632 s): in the
    answer of `demand`, in `lint --print` (the limit itself there), on the page."""
    config, path = tmp_path / "printer.cfg", tmp_path / "a.gcode"
    config.write_text(HOTENDLESS)
    path.write_text("M83\nG1 X0 Y0 F6000\n" + "G1 E-0.5 F3600\nG1 X9 F6000\nG1 E0.5 F3600\n" * 2)
    made = run("demand", str(path), "--config", str(config))
    words = " ".join(made.out.split())
    speed = "slows 4 moves of filament alone to 25 mm/s (the fastest in line 3, 60 mm/s)."
    time = "stretches 4 moves of filament alone: the one in line 3 0.632 s in place of 0.02 s."
    assert speed in words
    assert time in words
    told = run("lint", str(config), "--print", str(path), "--format", "json").json["findings"]
    where = {one["rule"]: (one["level"], one["line"]) for one in told}
    assert where["print-speed-above-limit"] == ("note", 3)
    assert where["extrude-only-acceleration-too-low"] == ("warning", 12)
    page = run("report", str(config), "--print", str(path), "--html", "-").out
    assert "4 moves of filament alone to 25" in page


def test_no_cap_is_told_where_it_hangs_on_the_hotend(run: Runner, tmp_path: Path) -> None:
    """Without a sheet `flow` gives a cap a class, and no other figure stands beside those; what
    helps is told with what it gains, as `lint` has it."""
    config, path = tmp_path / "printer.cfg", tmp_path / "a.gcode"
    config.write_text(HOTENDLESS)
    path.write_text("M83\nG92 X0 Y0 Z0\n" + "G1 X90 E8 F9000\nG1 X0 E8 F9000\n" * 9)
    made = run("demand", str(path), "--config", str(config), "--format", "json").json
    assert made["verdict"] == "does-not-fit"
    assert made["cap_that_removes"] is None
    assert all(one["set_to"] for one in made["cases"])
    whole = run("lint", str(config), "--print", str(path), "--format", "json").json
    assert whole["extruders"][0]["levers"] == made["levers"]
    text = run("demand", str(path), "--config", str(config)).out
    assert "the cap to set depends on the hotend" in " ".join(text.split())
    assert f"what helps  +{made['levers'][0]['gain']:.1f}" in text
    advice = next(one["advice"] for one in whole["findings"] if one["rule"] == "print-does-not-fit")
    assert "State the hotend" in advice
    long = ("--with", "hotend.class=long")
    made = run("demand", str(path), "--config", str(config), *long, "--format", "json").json
    flow = run("flow", str(config), *long, "--format", "json").json
    assert made["cap_that_removes"] == flow["set_to"]
