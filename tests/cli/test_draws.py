"""--draws: how many likely machines the bands are taken of."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from tiers import only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.answers.lint import check
from advisor.base import UsageError
from advisor.report import text as as_text
from advisor.report.json import as_json, json_schema

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
# Their value is itself a low end over the likely machines, which moves with their number.
LOW_ENDS = ("profile.cap_setting",)
CONFIGS = ("healthy", "no-sheet", "over-driven", "soft-filament", "asks-too-much")


@cache
def facts(sample: str, draws: int | None) -> dict[str, dict[str, Any]]:
    report = check([str(SAMPLES / sample / "printer.cfg")], Asks(draws=draws))
    made: dict[str, dict[str, Any]] = json.loads(as_json(report))["extruders"][0]["facts"]
    return made


def numbers(sample: str, draws: int | None) -> dict[str, tuple[float, float, float]]:
    return {
        name: (fact["value"], fact["low"], fact["high"])
        for name, fact in facts(sample, draws).items()
        if isinstance(fact["low"], float) and isinstance(fact["high"], float)
    }


@wide
@pytest.mark.parametrize(
    ("sample", "draws"),
    spread([(one, draws) for one in CONFIGS for draws in (64, 256, 1024, 8192)], 2),
)
def test_the_typical_value_is_the_same_at_every_size(sample: str, draws: int) -> None:
    """To the last of the nine digits that are given; also the currents that are safe to set."""
    usual = facts(sample, None)
    for name, fact in facts(sample, draws).items():
        if name in LOW_ENDS and fact["value"] is not None:
            assert fact["value"] == pytest.approx(usual[name]["value"], rel=0.1), name
        else:
            assert fact["value"] == usual[name]["value"], name


@only_wide
@wide
@pytest.mark.parametrize(("draws", "off"), spread([(1024, 0.04), (4096, 0.04), (256, 0.12)], 1))
def test_the_ends_of_the_bands_move_little(draws: int, off: float) -> None:
    """Against 8192 machines, of the capacity and all limits of all samples: half of them."""
    moved = []
    for sample in CONFIGS:
        fine = numbers(sample, 8192)
        for name, (_, low, high) in numbers(sample, draws).items():
            if name.startswith("flow.") and name in fine and fine[name][1] > 0.0:
                moved += [abs(low / fine[name][1] - 1.0), abs(high / fine[name][2] - 1.0)]
    assert len(moved) > 40
    assert np.median(moved) < off


def test_few_machines_are_told() -> None:
    """Under 512 the output says that the bands are rough, from 512 on it does not."""
    for draws, rough in ((64, True), (511, True), (512, False), (None, False)):
        report = check([str(SAMPLES / "healthy/printer.cfg")], Asks(draws=draws))
        assert ("machines only: typical" in as_text.render(report)) is rough


def test_the_json_says_how_many_where_asked() -> None:
    """The key is there where the option is, and the schema knows it."""
    schema = Draft202012Validator(json_schema())
    for draws in (None, 128):
        report = check([str(SAMPLES / "healthy/printer.cfg")], Asks(draws=draws))
        tree = json.loads(as_json(report))
        schema.validate(tree)
        assert tree.get("draws") == draws


@pytest.mark.parametrize("draws", [1, 63, 65537, -5])
def test_what_cannot_be_drawn_is_refused(draws: int) -> None:
    """Of the library too."""
    with pytest.raises(UsageError, match="64 to 65536"):
        check([str(SAMPLES / "healthy/printer.cfg")], Asks(draws=draws))
