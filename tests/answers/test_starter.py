"""The starter sheet is a sheet: as it stands, and with any of its lines uncommented."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from held import held
from tiers import spread, wide

from advisor.answers.asks import Asks
from advisor.answers.starter import starter_sheet
from advisor.base import UsageError
from advisor.inputs.sheet import read_sheet
from advisor.inputs.sheet_reader import Sheet

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
BARE = str(SAMPLES / "no-sheet" / "printer.cfg")
FULL = str(SAMPLES / "healthy" / "printer.cfg")
_FIELD = re.compile(r"^( *)# (\w+: \S.*)$")


def test_a_starter_states_nothing_by_itself() -> None:
    """All values are comments, no line is wider than a terminal, what matters comes first."""
    text = starter_sheet(BARE, Asks())
    assert read_sheet(text, "hardware.yaml").shared.facts == {}
    wide = [line for line in text.splitlines()[1:] if len(line) > 80 and "{" not in line]
    assert wide == []  # a measurement is one line, the first line names the path
    assert "hotend.melt_length: explains" in text
    hotend = text[text.index("\nhotend:") :]
    assert hotend.index("melt_length:") < hotend.index("class:")


def test_every_line_can_be_uncommented() -> None:
    """Each one alone makes a valid sheet that states exactly its field."""
    lines = starter_sheet(BARE, Asks()).splitlines()
    found = 0
    lines = [line for line in lines if not line.startswith("# name:")]
    for number, line in enumerate(lines):
        field = _FIELD.match(line)
        if field is None or number < 12:
            continue
        changed = [*lines[:number], f"{field[1]}{field[2]}", *lines[number + 1 :]]
        sheet = read_sheet("\n".join(changed), "hardware.yaml")
        assert sheet.shared.facts or sheet.shared.measured, line
        found += 1
    assert found > 35


@wide
@pytest.mark.parametrize("config", spread(sorted(str(x) for x in SAMPLES.rglob("printer.cfg")), 1))
def test_the_brief_sheet_fits_a_screen_and_is_a_sheet(config: str) -> None:
    """40 lines of 80 columns; each commented line alone makes a valid sheet of its field."""
    text = starter_sheet(config, Asks(), full=False)
    lines = text.splitlines()
    assert len(lines) <= 40
    assert max(map(len, lines[1:])) <= 80
    first = read_sheet(text, "hardware.yaml")
    for number, line in enumerate(lines):
        field = _FIELD.match(line)
        if field is not None:
            changed = [*lines[:number], f"{field[1]}{field[2]}", *lines[number + 1 :]]
            assert _stated(read_sheet("\n".join(changed), "hardware.yaml")) > _stated(first), line


def _stated(sheet: Sheet) -> int:
    """How much a sheet states: its name, its values, and what only one extruder has."""
    parts = [sheet.shared, *sheet.extruders.values()]
    return (sheet.name is not None) + sum(len(x.facts) + len(x.measured) for x in parts)


def test_the_brief_sheet_asks_for_what_matters_first_and_leaves_out_what_does_not() -> None:
    """The hotend's class leads; a direct extruder has no tube; what is stated stays."""
    text = starter_sheet(BARE, Asks(), full=False)
    assert read_sheet(text, "hardware.yaml").shared.facts == {}
    asked = [field[2] for line in text.splitlines() if (field := _FIELD.match(line))]
    assert asked[0].startswith("class: standard")
    assert "tube_length" not in text
    assert "tube_length" in starter_sheet(BARE, Asks())
    long, brief = (starter_sheet(FULL, Asks(), full=full) for full in (True, False))
    kept = [read_sheet(x, "new.yaml").shared.facts for x in (long, brief)]
    assert {n: held(f) for n, f in kept[0].items()} == {n: held(f) for n, f in kept[1].items()}


def test_what_a_sheet_states_is_kept() -> None:
    """The facts of the existing sheet come back, but for the one that is the config's to state."""
    old = read_sheet((SAMPLES / "healthy" / "hardware.yaml").read_text(), "hardware.yaml")
    new = read_sheet(starter_sheet(FULL, Asks()), "hardware.yaml")
    assert {n: held(f) for n, f in new.shared.facts.items()} == {
        n: held(f) for n, f in old.shared.facts.items() if n != "filament.diameter"
    }


def test_a_config_without_extruder_has_no_sheet(tmp_path: Path) -> None:
    """There is nothing to ask about."""
    path = tmp_path / "printer.cfg"
    path.write_text("[printer]\nmax_velocity: 300\n")
    with pytest.raises(UsageError, match="no extruder"):
        starter_sheet(str(path), Asks())


def test_what_a_unit_says_is_written_as_a_word(tmp_path: Path) -> None:
    """'1.0 A peak' states what the rating means; the starter writes both so that they read back."""
    path = tmp_path / "hardware.yaml"
    path.write_text("motor: {rated_current: 1.0 A peak}\n")
    new = read_sheet(starter_sheet(BARE, Asks(sheet=str(path))), "new.yaml")
    assert {n: held(f) for n, f in new.shared.facts.items()} == {
        "motor.rated_current": 1.0, "motor.rating_basis": "peak",
    }  # fmt: skip
