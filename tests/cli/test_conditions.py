"""What the figures are worked out for is said, and where it is not what was named.

The usual ranges and temperatures of materials are those of rules/catalogue/materials.yaml, which
names their sources; what a cap is without the option is the program's own answer beside it.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from cli_answers import Runner
from tiers import only_wide, spread, wide

ROOT = Path(__file__).resolve().parents[2]
HEALTHY = "samples/healthy/printer.cfg"
RULE = "temperature-of-another-material"


@pytest.fixture(autouse=True)
def _at_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")


def _cap(run: Runner, *words: str) -> str:
    told = json.loads(run("flow", HEALTHY, *words, "--format", "json").out)
    return f"{told['set_to']:.1f}"


@wide
@pytest.mark.parametrize("command", spread(["flow", "lint"], 1))
def test_a_material_at_the_temperature_of_another_is_told(run: Runner, command: str) -> None:
    """The sheet's 215 degC is of PLA; the cap at PETG's usual 240 degC is that of --with 240C."""
    said = " ".join(run(command, HEALTHY, "--material", "petg").out.split())
    hot = ("--material", "petg", "--with", "filament.temperature=240C")
    cap = _cap(run, *hot)
    assert float(cap) > 1.3 * float(_cap(run, "--material", "petg"))
    assert "PETG at 215 °C; its usual range is 220 to 250 °C" in said
    assert f"At 240 °C the cap is {cap} mm³/s" in said
    assert "--with filament.temperature=240C" in said
    assert RULE in said
    assert RULE not in run(command, HEALTHY, *hot).out


@wide
@pytest.mark.parametrize(
    "words",
    spread([
        (), ("--material", "pla"), ("--with", "filament.material=petg"), ("--material", "tpu-95a"),
        ("--material", "petg", "--with", "filament.temperature=215C"),
    ], 2),
)  # fmt: skip
def test_a_temperature_that_is_meant_or_usual_is_not_told(
    run: Runner, words: tuple[str, ...]
) -> None:
    """Nor is one that the command line states itself: who types it means it."""
    assert RULE not in run("lint", HEALTHY, *words).out


def test_without_a_cap_it_tells_the_capacity(run: Runner, tmp_path: Path) -> None:
    """Where nobody states the hotend there is no one cap; the capacity is told in its place."""
    (tmp_path / "printer.cfg").write_text((ROOT / HEALTHY).read_text())
    sheet = "filament: {material: pla, temperature: 205 degC}\n"
    (tmp_path / "hardware.yaml").write_text(sheet)
    said = " ".join(run("lint", str(tmp_path / "printer.cfg"), "--material", "abs").out.split())
    assert re.search(r"At 245 °C the capacity is [\d.]+ mm³/s", said)


PRINT = "samples/asks-too-much/box.gcode"


@wide
@pytest.mark.parametrize(
    ("words", "place"),
    spread(
        [
            (("flow", HEALTHY), "PLA at 215 °C, 0.4 mm"),
            (("lint", HEALTHY), "PLA at 215 °C, 0.4 mm"),
            (("flow", HEALTHY, "--material", "petg"), "PETG at 215 °C, 0.4 mm"),
            (
                ("lint", "samples/no-sheet/printer.cfg", "--material", "petg"),
                "PETG at 240 °C, 0.4 mm",
            ),
            (("demand", PRINT, "--config", HEALTHY), "PLA at 215 °C, 0.4 mm"),
            (("session", HEALTHY), "PLA at 215 °C, 0.4 mm"),
        ],
        3,
    ),
)
def test_the_capacity_says_what_it_is_for(run: Runner, words: tuple[str, ...], place: str) -> None:
    """Within the first lines, in the line of the capacity, in the same words everywhere."""
    lines = run(*words).out.splitlines()[:8]
    (capacity,) = [line for line in lines if line.startswith("capacity")]
    assert place in capacity


@pytest.mark.parametrize("command", ["flow", "demand"])
def test_the_data_says_what_it_is_for(run: Runner, command: str) -> None:
    words = ("flow", HEALTHY) if command == "flow" else ("demand", PRINT, "--config", HEALTHY)
    told = json.loads(run(*words, "--format", "json").out)
    assert (told["material"], told["temperature"]) == ("pla", pytest.approx(215.0))
    assert told["nozzle"] == pytest.approx(0.4)


def _print(tmp_path: Path, *heats: int) -> str:
    sets = "".join(f"M104 S{heat}\n" for heat in heats)
    path = tmp_path / "part.gcode"
    path.write_text(f"M83\n{sets}G1 X10 Y10 Z0.2 F6000\nG1 X60 Y10 E2 F1500\nM104 S0\n")
    return str(path)


def _both(run: Runner, path: str, *words: str) -> tuple[str, str]:
    shown = (("demand", path, "--config", HEALTHY), ("lint", HEALTHY, "--print", path, "--full"))
    first, second = (" ".join(run(*one, *words).out.split()) for one in shown)
    return first, second


@pytest.mark.parametrize(("heat", "level"), [(230, "note"), (200, "warning")])
def test_the_temperature_of_the_print_is_told(
    run: Runner, tmp_path: Path, heat: int, level: str
) -> None:
    """Both commands say it, and tell the same capacity as before: that of the sheet's 215 degC."""
    for said in _both(run, _print(tmp_path, heat)):
        assert f"The print sets {heat} °C; all is worked out for 215 °C" in said
        assert f"--with filament.temperature={heat}C" in said
        assert level in said
        assert "; PLA at 215 °C, 0.4 mm" in said


@wide
@only_wide
def test_a_print_that_reaches_the_temperature_is_not_told(run: Runner, tmp_path: Path) -> None:
    """A warmer first layer, a colder wait, 4 K, or what the command line states: nothing to say."""
    for heats in ((230, 215), (160, 215), (215, 160), (219,), ()):
        assert not any("print sets" in said for said in _both(run, _print(tmp_path, *heats)))
    stated = ("--with", "filament.temperature=230C")
    assert not any("print sets" in said for said in _both(run, _print(tmp_path, 200), *stated))


@wide
@pytest.mark.parametrize("power", spread(["5W", "12W"], 1))
def test_a_session_does_not_begin_where_nothing_gets_through(run: Runner, power: str) -> None:
    """A heater that barely covers the loss of a block leaves nothing to melt with, at any class."""
    words = ("session", "samples/no-sheet/printer.cfg", "--with", f"hotend.heater_power={power}")
    ran = run(*words)
    assert ran.code == 1
    assert ran.out.startswith("answer      nothing gets through, heater limits first: see lint")
    fine = run("session", "samples/no-sheet/printer.cfg")
    assert fine.code == 0
    assert "nothing gets through" not in fine.out


def test_the_corner_step_stays_within_the_limit_that_is_set(run: Runner, tmp_path: Path) -> None:
    """The config's own limit ends it; what the extruder would bear beyond stands above alone."""
    for limit, ends in (("5000", "or at the set 5000 mm/s²"), ("900000", "the extruder's limit")):
        text = (ROOT / HEALTHY).read_text().replace("max_accel: 5000", f"max_accel: {limit}")
        (tmp_path / "printer.cfg").write_text(text)
        sheet = ("--sheet", "samples/healthy/hardware.yaml")
        out = run("session", str(tmp_path / "printer.cfg"), *sheet).out
        step = " ".join(re.split(r"^\d (?=corners|print)", out, flags=re.MULTILINE)[1].split())
        assert ends in step
        told = [int(x) for x in re.findall(r"(\d+) mm/s²", step)]
        assert told
        assert max(told) <= int(limit)
