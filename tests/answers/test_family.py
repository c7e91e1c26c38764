"""An extruder that no edit is about is worked out once, and is what a fresh one is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tiers import only_wide, wide

from advisor.answers import checked as families
from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig, Family
from advisor.answers.lint import check_config
from advisor.cli.report_parts import gathered
from advisor.mend.overlay import Snapshot

BODY = (
    "rotation_distance: {distance}\ngear_ratio: 50:10\nmicrosteps: 16\nnozzle_diameter: 0.4\n"
    "filament_diameter: 1.75\nmax_extrude_only_velocity: 60\n"
)
CONFIG = "[printer]\nmax_velocity: 300\nmax_accel: 3000\n" + "".join(
    f"[{name}]\n{BODY.format(distance=distance)}[tmc2209 {name}]\nrun_current: 0.5\n"
    for name, distance in (("extruder", 22.6), ("extruder1", 22.7), ("extruder2", 22.8))
)


@pytest.fixture
def config(tmp_path: Path) -> Path:
    """Return a config of three extruders, each a little different."""
    path = tmp_path / "printer.cfg"
    path.write_text(CONFIG, encoding="utf-8")
    return path


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the names of extruders as they are worked out."""
    names: list[str] = []
    real: Callable[..., Any] = families.machine_of

    def counted(inputs: Any, *rest: Any) -> Any:
        names.append(inputs.name)
        return real(inputs, *rest)

    monkeypatch.setattr(families, "machine_of", counted)
    return names


def test_a_page_works_each_extruder_out_once(config: Path, made: list[str]) -> None:
    """The check, and the edits that begin from it, look at the same machines."""
    gathered([str(config)], Asks())

    assert made == ["extruder", "extruder1", "extruder2"]


@wide
@only_wide
def test_the_edits_of_one_extruder_leave_the_others(config: Path, made: list[str]) -> None:
    """Only the extruder whose current is edited is worked out again, with its limit once."""
    sheet = "extruders: {extruder1: {motor: {rated_current: 0.3 A rms}}}\n"
    (config.parent / "hardware.yaml").write_text(sheet, encoding="utf-8")
    parts = gathered([str(config)], Asks())
    report = parts.configs[0].mend.report

    assert report is not None
    assert [edit.section for edit in report.edits] == ["tmc2209 extruder1"]
    assert made[:3] == ["extruder", "extruder1", "extruder2"]
    # the last check of a plan reads the texts anew; what they state is what was worked out
    assert made[3:] == ["extruder1"]


@wide
@only_wide
def test_an_edited_config_is_what_a_fresh_one_is(config: Path) -> None:
    """To the last byte of every fact, whichever of several texts was looked at before."""
    family, text = Family(), CONFIG.encode()
    edited = text.replace(b"run_current: 0.5\n[extruder1]", b"run_current: 0.6\n[extruder1]")
    longer = b"# a line more\n" + text
    for data in (text, edited, text, longer, edited):
        files = Snapshot({str(config.resolve()): data})
        shared = check_config(config, Asks(), files=files, family=family)
        fresh = check_config(config, Asks(), files=files)

        assert not list(_different(shared, fresh))


def _different(one: CheckedConfig, other: CheckedConfig) -> Any:
    if one.report.findings != other.report.findings:
        yield "findings"
    for mine, theirs in zip(one.report.extruders, other.report.extruders, strict=True):
        if (mine.limits, mine.measure_next, mine.cases) != (
            theirs.limits, theirs.measure_next, theirs.cases,
        ):  # fmt: skip
            yield f"{mine.name}: limits"
    for name, book in one.books.items():
        theirs = other.books[name].facts
        if list(book.facts) != list(theirs):
            yield f"{name}: names of facts"
        for fact in book.facts.values():
            if fact != theirs[fact.name]:
                yield f"{name}: {fact.name}"
