"""Of a config with very many extruders the page draws the first ones, and says so."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiers import only_wide, wide

from advisor import Asks
from advisor.cli import report_parts
from advisor.report.html import render

BODY = "rotation_distance: 22.6\ngear_ratio: 50:10\nmicrosteps: 16\nnozzle_diameter: 0.4\n"


def test_curves_are_drawn_of_the_first_extruders(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The others keep their limits and findings; the head of the page names what is left out."""
    monkeypatch.setattr(report_parts, "DRAWN_EXTRUDERS", 1)
    config = tmp_path / "printer.cfg"
    config.write_text(f"[extruder]\n{BODY}[extruder1]\n{BODY}", encoding="utf-8")
    parts = report_parts.gathered([str(config)], Asks())
    first, second = parts.configs[0].extruders
    page = render(parts)

    assert first.force is not None
    assert second.force is second.torque is second.grip is None
    assert second.report.limits
    assert "those of the first 1 of 2 extruders" in page


@wide
@only_wide
def test_curves_are_shared_out_among_configs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each of several configs has those of its first extruders, as long as the budget lasts."""
    monkeypatch.setattr(report_parts, "DRAWN_EXTRUDERS", 2)
    monkeypatch.setattr(report_parts, "DRAWN_MACHINES", 2)
    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.cfg").write_text(f"[extruder]\n{BODY}[extruder1]\n{BODY}")
    parts = report_parts.gathered([str(tmp_path)], Asks(draws=64))
    drawn = [[one.torque is not None for one in config.extruders] for config in parts.configs]

    assert drawn == [[True, False], [True, False], [False, False]]
    assert "those of 2 of 6 extruders, the first of each config" in render(parts)
