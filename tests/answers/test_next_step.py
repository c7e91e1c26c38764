"""The last line of an answer: the one command that narrows it most, or none where none does."""

from __future__ import annotations

from pathlib import Path

from advisor import Asks, check

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


def test_a_test_that_is_weighed_is_not_asked_for_again() -> None:
    """With a sheet the next thing is a weighed test; with its table, nothing."""
    config, table = SAMPLES / "healthy" / "printer.cfg", SAMPLES / "healthy" / "flow-test.csv"
    (before,) = check(config, Asks()).extruders
    assert before.next is not None
    assert before.next.arguments[:2] == ("weigh", "plan")
    (after,) = check(config, Asks(weighed=(str(table),))).extruders
    assert after.next is None
