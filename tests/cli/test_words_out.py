"""What the commands say is in the words of the trade: none of the words that stay out.

The list is in `words_out`; it is our own choice of words, with no source outside the project.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from cli_answers import Runner
from tiers import spread, wide

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))
from words_out import WORDS_OUT

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIG = "{0}/printer.cfg"
COMMANDS: dict[str, tuple[str, ...]] = {
    "derate": ("derate", "--sheet", "{0}/hardware.yaml"),
    "derate in full": ("derate", "--sheet", "{0}/hardware.yaml", "--full"),
    "session": ("session", CONFIG, "--draws", "64"),
    "session in full": ("session", CONFIG, "--draws", "64", "--full"),
    "torque": ("torque", CONFIG, "--asked", "12mm3/s"),
    "torque in full": ("torque", CONFIG, "--full"),
    "grip": ("grip", CONFIG),
    "grip in full": ("grip", CONFIG, "--full"),
    "compare": ("compare", CONFIG, "--vary", "drive.gear_diameter=8mm,16mm", "--draws", "64"),
    "compare in full": (
        "compare", CONFIG, "--vary", "motor.class=round-36,square-42-short", "--draws", "64",
        "--full", "--asked", "12mm3/s",
    ),
    "target": ("compare", CONFIG, "--target", "20mm3/s", "--draws", "64", "--full"),
    "skip-test plan": ("skip-test", "plan", CONFIG, "--full"),
    "weigh plan": ("weigh", "plan", CONFIG, "--full"),
    "sheet": ("sheet", CONFIG),
    "explain": ("explain", "flow.capacity", CONFIG),
}  # fmt: skip
OTHERS: dict[str, tuple[str, ...]] = {
    "several ratings": ("derate", "0.8A", "1.2A"),
    "no current": ("derate", "1A", "--mount", "pla", "--ambient", "60degC", "--full"),
    "demand": ("demand", "asks-too-much/box.gcode", "--config", "asks-too-much/printer.cfg"),
    "demand in full": (
        "demand", "asks-too-much/box.gcode", "--config", "healthy/printer.cfg", "--full",
    ),
    "weigh read": (
        "weigh", "read", "healthy/flow-test.csv", "--config", "healthy/printer.cfg", "--full",
    ),
    "skip-test read": (
        "skip-test", "read", "healthy/skip-test.csv", "--config", "healthy/printer.cfg", "--full",
    ),
    "weigh next": (
        "weigh", "next", "healthy/begun/one-by-one.csv", "--config", "healthy/printer.cfg",
        "--full",
    ),
    "names": ("explain",),
}  # fmt: skip
HELP = ("lint", "flow", "session", "mend", "derate", "demand", "weigh", "weigh plan", "weigh next",
        "weigh read", "skip-test", "skip-test plan", "skip-test read",
        "compare", "torque", "grip", "sheet", "explain")  # fmt: skip
KNOWN = ("clicking", "torque", "skip", "grip", "slip", "buckling", "melt", "heater", "run_current",
         "pressure_advance", "pla", "tpu-95a", "round-36", "tmc2209")  # fmt: skip


MACHINES = tuple(sorted(str(path.relative_to(SAMPLES)) for path in SAMPLES.glob("**/printer.cfg")))
CHECKS = {  # of every sample, in short and in full
    "lint": ("lint", "{0}"),
    "lint of a request": ("lint", "{0}", "--asked", "12mm3/s"),
    "flow": ("flow", "{0}", "--asked", "12mm3/s"),
}


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)
    monkeypatch.setenv("COLUMNS", "120")


def found(shown: str) -> list[str]:
    """Return each word that stays out, with its line and what is said instead."""
    lines = shown.splitlines()
    return [
        f"'{hit[0]}' in '{line.strip()}': say {but}"
        for pattern, but in WORDS_OUT.items()
        for line in lines
        if (hit := pattern.search(line))
    ]


@wide
@pytest.mark.parametrize("command", spread(list(COMMANDS), 4))
def test_no_word_that_stays_out_is_in_an_answer(run: Runner, command: str) -> None:
    """A machine that is fine, and one that is driven too hard."""
    for sample in spread(("over-driven", "healthy"), 1):
        ran = run(*(word.format(sample) for word in COMMANDS[command]))
        assert ran.out
        assert found(ran.out) == []


@wide
@pytest.mark.parametrize("command", spread(list(OTHERS), 3))
def test_nor_in_the_other_answers(run: Runner, command: str) -> None:
    """Ratings, a print, a weighed test, the names."""
    assert found(run(*OTHERS[command]).out) == []


def test_nor_in_help_and_explanations(run: Runner) -> None:
    """Each command's help; settings, limits, words, entries of the catalogue."""
    told = {command: found(run(*command.split(), "--help").out) for command in HELP}
    told |= {name: found(run("explain", name, "--full").out) for name in KNOWN}
    assert {name: words for name, words in told.items() if words} == {}


@wide
@pytest.mark.parametrize("machine", spread(MACHINES, 1))
def test_nor_in_what_is_found_on_a_sample(run: Runner, machine: str) -> None:
    """lint, flow and mend of every sample; lint and flow in full too."""
    told = {}
    for name, words in CHECKS.items():
        for full in ((), ("--full",)):
            told[f"{name} {full}"] = run(*(word.format(machine) for word in words), *full).out
    told["mend"] = run("mend", machine).err
    wrong = {name: found(_unquoted(shown)) for name, shown in told.items()}
    assert any(told.values())
    assert {name: words for name, words in wrong.items() if words} == {}


def _unquoted(shown: str) -> str:
    """Return a text without the names of rules, and without what it quotes of the user's."""
    return re.sub(r"'[^']*'|[a-z0-9]+(?:-[a-z0-9]+){2,}", "NAME", shown)


def test_the_test_sees_what_it_looks_for() -> None:
    """The texts of before are full of them."""
    before = "capacity    9.6 mm3/s, likely 5.2 to 23\nlimit       delivery begins to fall at 15.8"
    assert len(found(before)) >= 2
    assert found("the grip gives out first in 68 % of likely machines, as it stands")
    assert found("limit       under-extrusion starts at 15.8 (14.2-17.9) mm3/s") == []
