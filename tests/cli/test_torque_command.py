"""`feedwright torque`: its verdict, exit codes and lines agree with each other and with `flow`."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_answers import Runner
from every import every
from tiers import spread, wide

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
FLOWS = ("4mm3/s", "9mm3/s", "14mm3/s", "16.5mm3/s", "20mm3/s")


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "80")


@wide
@every("flow", spread(FLOWS, 1))
@every("machine", ["healthy", "no-sheet", "mixed-up"])
def test_exit_code_verdict_and_points_say_the_same(run: Runner, machine: str, flow: str) -> None:
    """1 where a point that is asked needs more than a hundredth above the usable torque."""
    ran = run("torque", f"{machine}/printer.cfg", "--asked", flow, "--format", "json")
    told = [point for point in ran.json["points"] if point["asked"]]
    fits = [x["needed"]["value"] <= 1.01 * x["usable"]["value"] for x in told]

    assert ran.json["enough"] is all(fits)
    assert ran.code == (0 if all(fits) else 1)


@wide
@pytest.mark.parametrize("flow", spread(list(FLOWS), 1))
def test_a_feed_beyond_the_torque_limit_of_lint_is_too_much(run: Runner, flow: str) -> None:
    """The other way to the same answer: the flow at which the torque is used up."""
    ran = run("torque", "healthy/printer.cfg", "--asked", flow, "--format", "json")
    (feed,) = (point for point in ran.json["points"] if point["name"] == "asked")
    lint = run("lint", "healthy/printer.cfg", "--format", "json").json["extruders"][0]["limits"]
    limits = {row["limit"]: row["flow"] for row in lint}
    asked = float(flow.removesuffix("mm3/s"))

    assert (feed["needed"]["value"] > feed["usable"]["value"]) == (asked > limits["torque"])
    assert (feed["needed"]["value"] > feed["skip"]["value"]) == (asked > limits["skip"])


def test_the_lines_run_over_the_points(run: Runner) -> None:
    """As many torques as speeds; the usable line at a feed's speed is that feed's usable torque."""
    tree = run("torque", "healthy/printer.cfg", "--asked", "9mm3/s", "--format", "json").json
    lines, speeds = tree["torque"], tree["torque"]["motor_speeds"]["values"]
    assert len(lines["usable"]["value"]) == len(lines["skip"]["low"]) == len(speeds) >= 60
    (feed,) = (point for point in tree["points"] if point["name"] == "asked")
    place = min(range(len(speeds)), key=lambda i: abs(speeds[i] - feed["motor_speed"]["value"]))
    assert lines["usable"]["value"][place] == pytest.approx(feed["usable"]["value"], rel=1e-6)
    ends = {k: len(lines["needed"][k]) for k in ("low", "value", "high")}
    assert len(set(ends.values())) == 1
    assert 1 < ends["value"] < len(speeds)
    assert lines["needed"]["value"][-1] < 1.2 * max(lines["skip"]["value"])
    for low, value, high in zip(
        *(lines["usable"][k] for k in ("low", "value", "high")), strict=True
    ):
        assert 0.0 <= low <= value <= high


@wide
@pytest.mark.parametrize(
    "machine", spread(["healthy", "asks-too-much", "over-driven", "mixed-up"], 1)
)
def test_a_config_alone_is_not_blamed_for_what_it_does_not_ask(run: Runner, machine: str) -> None:
    """No flow asked, no speed past its torque: nothing to fail on."""
    assert run("torque", f"{machine}/printer.cfg").code == 0


def test_a_pressure_advance_of_a_slipped_point_is_found(run: Runner) -> None:
    """The ugly sample's peak runs at many times the corner speed."""
    ran = run("torque", "ugly/printer.cfg")
    assert ran.code == 1
    assert ran.out.startswith("answer      the motor skips in the pressure-advance peak")


@pytest.mark.parametrize(
    "arguments", [("--asked", "fast"), ("--material", "plaa"), ("--extruder", "extruder7")]
)
def test_what_cannot_be_asked_is_wrong_usage(run: Runner, arguments: tuple[str, str]) -> None:
    """Exit code 2, one sentence, nothing on stdout."""
    ran = run("torque", "healthy/printer.cfg", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert len(ran.err.splitlines()) == 1
