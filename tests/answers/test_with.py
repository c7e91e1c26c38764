"""Fields of the sheet on the command line: the same machine as with a sheet that holds them.

The reference is the sheet itself, read from a file by the same command.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from every import every

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.derate_motor import derate
from advisor.answers.lint import check_config
from advisor.answers.session import command_facts
from advisor.base import UsageError
from advisor.catalog import load_catalog
from advisor.cli import main
from advisor.inputs.sheet import stated_by_option

BARE = Path(__file__).resolve().parents[2] / "samples" / "no-sheet" / "printer.cfg"
STATED = {
    "hotend.class": "long",
    "drive.driven_gears": "1",
    "motor.rated_current": "1.0A peak",
    "drive.measured_force.force": "70 N",
    "drive.measured_force.outcome": "slipped",
    "asked": "18 mm3/s",
}
SHEET = """
hotend: {class: long}
drive: {driven_gears: 1, measured_force: {force: 70 N, outcome: slipped}}
motor: {rated_current: 1.0A peak}
asked: 18 mm3/s
"""


def _numbers(checked: CheckedConfig) -> dict[str, object]:
    book = checked.books["extruder"]
    return {name: book.samples(name) for name in book.facts if book.known(name)}


def _same(one: CheckedConfig, other: CheckedConfig) -> None:
    first, second = _numbers(one), _numbers(other)
    assert sorted(first) == sorted(second)
    for name, samples in first.items():
        assert str(samples) == str(second[name]), name
    assert [f.message for f in one.report.findings] == [f.message for f in other.report.findings]


def test_a_machine_by_options_is_the_machine_by_a_sheet(tmp_path: Path) -> None:
    """Whatever stands in a sheet may stand on the command line, measurements too."""
    sheet = tmp_path / "one.yaml"
    sheet.write_text(SHEET, encoding="utf-8")
    fields = tuple(f"{name}={value}" for name, value in STATED.items())
    _same(check_config(BARE, Asks(fields=fields)), check_config(BARE, Asks(sheet=str(sheet))))


def test_an_option_goes_before_the_sheet_and_renews_what_hangs_on_it(tmp_path: Path) -> None:
    """Another hotend on the command line has another melt zone than the sheet's hotend."""
    config = tmp_path / "printer.cfg"
    shutil.copy(BARE, config)
    (tmp_path / "hardware.yaml").write_text(
        "hotend: {class: standard, melt_length: 11 mm}\nfilament: {material: petg}\n"
    )
    other = tmp_path / "other.yaml"
    other.write_text("hotend: {class: long}\nfilament: {material: petg}\n")
    by_option = check_config(config, Asks(fields=("hotend.class=long",)))
    _same(by_option, check_config(config, Asks(sheet=str(other))))


def test_derate_takes_fields_without_any_sheet() -> None:
    """A motor class on the command line is the one of --motor."""
    assert derate("1.0A", fields=("motor.class=square-42-short",)) == derate(
        "1.0A", motor="square-42-short"
    )


SLIPS = {
    "hotend.klass=long": "did you mean 'hotend.class'?",
    "hotend.class=lnog": "did you mean 'long'?",
    "melt_length=20mm": "did you mean 'hotend.melt_length'?",
    "hotend=5": "name one of its fields: class",
    "hotend.melt_length=20 W": "mm",
    "hotend.melt_length=900mm": "at most 200 mm",
    "motor.run_current=0.5A": "--vary motor.run_current",
    "drive.measured_force.force=20 N": "add 'outcome:'",
    "foo": "hotend.class=long",
    "hotend.class=": "hotend.class=long",
    "base=other.yaml": "unknown field 'base'",
    "extruders.extruder1.asked=1mm3/s": "feedwright sheet CONFIG",
}


@every("text, hint", SLIPS.items())
def test_a_slip_is_told_in_one_sentence(text: str, hint: str) -> None:
    """What cannot be is wrong usage, with the closest name or the way to write it."""
    with pytest.raises(UsageError) as told:
        stated_by_option([text], load_catalog())
    assert hint in str(told.value)
    assert str(told.value).startswith("--with")
    assert "\n" not in str(told.value)


TWICE = {
    "--material": Asks(material="petg", fields=("filament.material=pla",)),
    "--asked": Asks(asked="9mm3/s", fields=("asked=12mm3/s",)),
}


@every("option, asks", TWICE.items())
def test_what_two_options_state_is_refused(option: str, asks: Asks) -> None:
    """Neither of two options for the same thing is quietly passed over."""
    with pytest.raises(UsageError, match=option):
        command_facts(asks, load_catalog())


def test_a_field_stated_twice_is_refused() -> None:
    """Two classes of hotend cannot both be built in."""
    with pytest.raises(UsageError, match="twice"):
        stated_by_option(["hotend.class=long", "hotend.class=standard"], load_catalog())


COMMANDS = ("lint", "flow", "session", "demand", "torque", "grip", "compare", "explain", "sheet",
            "mend", "report", "derate", "weigh plan", "weigh read")  # fmt: skip


@every("command", COMMANDS)
def test_every_command_that_takes_a_sheet_takes_fields(command: str) -> None:
    """Each command refuses a field that does not exist, so each reads the option."""
    words = {
        "demand": ["samples/asks-too-much/box.gcode", "--config", str(BARE)],
        "explain": ["hotend.melt_length", str(BARE)],
        "derate": ["1.0A"],
        "weigh read": ["samples/healthy/flow-test.csv", "--config", str(BARE)],
        "report": [str(BARE), "--html", "-"],
    }.get(command, [str(BARE)])
    if command == "flow":
        words += ["--asked", "9mm3/s"]
    assert main([*command.split(), *words, "--with", "hotend.klass=long"]) == 2
