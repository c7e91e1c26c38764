"""The rows of other motors are the same whether all facts are worked out or those asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiers import spread, wide

from advisor.answers.asks import Asks
from advisor.answers.curves import torque as motors
from advisor.answers.curves.needs import flows_to_serve
from advisor.answers.curves.torque import motor_rows
from advisor.answers.lint import check_config
from advisor.catalog import load_catalog

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@wide
@pytest.mark.parametrize("sample", spread(["healthy", "over-driven", "no-sheet"], 1))
@pytest.mark.parametrize("asked", [None, "20mm3/s"])
def test_rows_hang_on_no_other_fact(
    sample: str, asked: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What `made_of` leaves out changes no row, with a flow asked and without."""
    checked = check_config(SAMPLES / sample / "printer.cfg", Asks(asked=asked, draws=64))
    machine = next(iter(checked.machines.values()))
    flows = flows_to_serve(machine.book)
    rows = motor_rows(machine, flows)
    monkeypatch.setattr(motors, "made_of", lambda **_: frozenset(load_catalog().facts))

    assert rows == motor_rows(machine, flows)
    assert any(row.margin is not None for row in rows)
