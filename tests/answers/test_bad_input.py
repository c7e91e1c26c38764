"""What was given and cannot be used is told in one sentence that fits what it was given as."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor import Asks
from advisor.answers.flow_limit import flow
from advisor.answers.lint import check
from advisor.base import OriginKind, UsageError

CONFIG = """\
[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
[tmc2209 extruder]
run_current: 0.5
sense_resistor: 0.110
"""


@pytest.fixture
def config(tmp_path: Path) -> str:
    """A whole config in a folder of its own."""
    path = tmp_path / "printer.cfg"
    path.write_text(CONFIG, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("asked", ["banana", "5 A", "nan mm3/s", "20 mm", "-5mm3/s", "1e9 mm3/s"])
def test_a_bad_ask_names_the_option_and_shows_a_flow(config: str, asked: str) -> None:
    """Not the example of another quantity."""
    with pytest.raises(UsageError, match="--asked") as caught:
        check([config], Asks(asked=asked))
    assert "mm3/s" in (caught.value.remedy or "")


def test_a_folder_given_as_a_sheet_is_told_as_a_sheet(config: str, tmp_path: Path) -> None:
    """The remedy speaks of the sheet, not of a config."""
    report = check([config], Asks(sheet=str(tmp_path)))
    (error,) = report.errors
    assert "is a folder" in error
    assert "hardware sheet" in error


@pytest.mark.parametrize("data", [b"", b"\n \r\n"])
def test_an_empty_standard_input_is_no_clean_bill(data: bytes) -> None:
    """A pipe whose first command failed must not pass."""
    report = check(["-"], Asks(stdin=data))
    (error,) = report.errors
    assert "standard input" in error
    assert [file.status for file in report.files] == ["unreadable"]


def test_what_the_sheet_asks_is_an_ask(config: str, tmp_path: Path) -> None:
    """`flow` needs no option where the sheet has `asked`."""
    (tmp_path / "hardware.yaml").write_text("asked: 24 mm3/s\n", encoding="utf-8")
    report = flow(config, Asks())
    assert report.asked is not None
    assert report.asked.value == pytest.approx(24.0)
    assert report.exceeds


def test_where_no_flow_is_requested_flow_gives_the_cap(config: str) -> None:
    """The cap to set, the same as with a small request; no verdict."""
    alone, small = flow(config, Asks()), flow(config, Asks(asked="1mm3/s"))
    assert (alone.asked, alone.exceeds, alone.lacking) == (None, None, ())
    assert alone.set_to == small.set_to
    assert alone.capacity == small.capacity


def test_microsteps_that_no_driver_has(config: str, tmp_path: Path) -> None:
    """1 to 256 in powers of two (microstep resolution, datasheets of the two-range chips)."""
    text = CONFIG.replace("microsteps: 16", "microsteps: {}")
    for number, told in ((17, True), (64, False)):
        path = tmp_path / f"{number}.cfg"
        path.write_text(text.format(number), encoding="utf-8")
        rules = [finding.rule for finding in check([str(path)], Asks()).findings]
        assert ("microsteps-no-power-of-two" in rules) is told


def test_a_driver_section_in_the_wrong_case_is_not_told_as_a_driver_set_by_hand(
    config: str, tmp_path: Path
) -> None:
    """The warning names the header, and nothing else tells the same cause again."""
    Path(config).write_text(CONFIG.replace("[tmc", "[TMC"), encoding="utf-8")
    found = {finding.rule: finding.message for finding in check([config], Asks()).findings}
    assert set(found) == {"section-wrong-case"}


@pytest.mark.parametrize(
    "air", ["motor: {measured_case: {temperature: 24 degC, current: 0.5 A, ambient: 24 degC}}",
            "motor: {measured_case: {temperature: 24 degC, current: 0.5 A}}",
            "motor: {measured_case: {temperature: 40 degC, current: 0.5 A}}\nchamber: 45 degC"],
)  # fmt: skip
def test_a_cold_motor_case_is_a_finding(tmp_path: Path, air: str) -> None:
    """A case no warmer than the air is told, where it stands, and not used."""
    config = tmp_path / "printer.cfg"
    config.write_text(CONFIG)
    (tmp_path / "hardware.yaml").write_text(air + "\n")
    report = check([str(config)], Asks())
    (told,) = [f for f in report.findings if f.rule == "measured-case-not-warmer-than-air"]

    assert told.at is not None
    assert (told.at.line, told.extruder) == (1, "extruder")
    assert report.extruders[0].facts["motor.mount_factor"].origin.kind is OriginKind.CATALOGUE
