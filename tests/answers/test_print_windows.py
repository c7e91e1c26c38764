"""Over which windows a machine's limits are judged: lag by path and pressure advance."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.lint import check_config
from advisor.answers.print_run import allowed_flows, windows_of
from advisor.machine.graph import FactBook
from advisor.prints import Windows

CONFIG = Path(__file__).resolve().parents[2] / "samples" / "healthy" / "printer.cfg"
SHEET = CONFIG.parent / "hardware.yaml"


def windows(tmp_path: Path, path: str) -> tuple[Windows, FactBook]:
    """Return the windows of the healthy sample with no pressure advance and another path."""
    text = CONFIG.read_text(encoding="utf-8")
    kept = [x for x in text.splitlines() if not x.startswith("pressure_advance:")]
    config, sheet = tmp_path / "printer.cfg", tmp_path / "hardware.yaml"
    config.write_text("\n".join(kept) + "\n", encoding="utf-8")
    sheet.write_text(
        SHEET.read_text(encoding="utf-8").replace("path: direct", path), encoding="utf-8"
    )
    book = check_config(str(config), Asks(sheet=str(sheet))).books["extruder"]
    return windows_of(book), book


@pytest.mark.parametrize(
    ("path", "lag"), [("path: direct", 0.04), ("path: bowden\ntube_length: 400 mm", 0.5)]
)
def test_the_lag_follows_the_filament_path(tmp_path: Path, path: str, lag: float) -> None:
    """0.04 s with the motor at the hotend, 0.5 s through a tube (common practice, no source)."""
    made, book = windows(tmp_path, path)
    assert made.lag == pytest.approx(lag)
    assert made.heat == pytest.approx(10.0)
    over = {one.limit: one.over for one in made.allowed}
    assert (over["melt"], over["heater"]) == ("melt", "heat")
    assert {over[x] for x in ("torque", "skip", "grip", "slip", "buckling")} == {"lag"}
    for one in made.allowed:
        assert one.flow == float(allowed_flows(book)[one.limit][0])
