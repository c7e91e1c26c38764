"""The last line of an answer: the one command that narrows it most, or none where none does."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor import Asks, check
from advisor.cli import main

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


def test_a_test_that_is_weighed_is_not_asked_for_again() -> None:
    """With a sheet the next thing is a weighed test; with its table, nothing."""
    config, table = SAMPLES / "healthy" / "printer.cfg", SAMPLES / "healthy" / "flow-test.csv"
    (before,) = check(config, Asks()).extruders
    assert before.next is not None
    assert before.next.arguments[:2] == ("weigh", "plan")
    (after,) = check(config, Asks(weighed=(str(table),))).extruders
    assert after.next is None


@pytest.mark.parametrize("command", ["lint", "flow", "session"])
def test_a_broken_sheet_is_corrected_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """The next step names its line, the command is the same again, and the summary counts it."""
    config, sheet = tmp_path / "printer.cfg", tmp_path / "hardware.yaml"
    config.write_text((SAMPLES / "no-sheet" / "printer.cfg").read_text())
    sheet.write_text("motor:\n  rated_current: 1.0 bananas\n")
    main([command, str(config)])
    words = " ".join(capsys.readouterr().out.split())
    assert f"next correct {sheet} line 2 first, then again: feedwright {command} {config}" in words
    assert "state your hotend" not in words
    if command == "lint":
        assert "summary 1 sheet to correct" in words
        assert "nothing to report" not in words
