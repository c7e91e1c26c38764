"""Findings on flow and motion: told where the typical and most of the likely machines meet them."""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from rulebook_helpers import book, rule_row

from advisor.base import DataError, Fact, Level, Origin, OriginKind
from advisor.data import schema
from advisor.judge import judged_level, levels, run
from advisor.judge.levels import hangs_on_flow

E, W, N = Level.ERROR, Level.WARNING, Level.NOTE
TABLE = [
    # level, nominal, share, hangs on, told: 90 % for an error, 80 % a warning, 60 % a note
    (E, True, 0.9, "", E),
    (E, True, 0.89, "", W),
    (E, True, 0.8, "", W),
    (E, True, 0.79, "", N),
    (E, True, 0.6, "", N),
    (E, True, 0.59, "", None),
    (E, False, 1.0, "", None),
    (W, True, 1.0, "", W),
    (N, True, 1.0, "", N),
    (E, True, 1.0, "assumed", W),
    (E, True, 0.7, "assumed", N),
    (E, True, 1.0, "defaulted", N),
    (E, True, 0.92, "modelled", E),
]


OTHERS = "others: {reported: 0.5, noted: 0.1, sure: 0.95}"


@every(("level", "nominal", "share", "hangs", "told"), TABLE)
def test_the_table_of_shares(
    level: Level, nominal: bool, share: float, hangs: str, told: Level | None
) -> None:
    """No finding speaks against the typical machine; shares are a choice of this project."""
    flags = {word: word in hangs.split() for word in ("assumed", "modelled", "defaulted")}

    assert judged_level(level, nominal=nominal, share=share, flow=True, **flags) is told


@pytest.mark.parametrize(("share", "told"), [(0.85, [W]), (0.65, [N]), (0.5, [])])
def test_a_condition_on_a_flow_is_judged_by_its_share(
    share: float, told: list[Level], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rule is not asked: what its condition hangs on decides."""
    rest = np.where(np.arange(1000) < share * 1000, 2.0, 0.0)
    fact = Fact.of("a.x", "-", np.concatenate(([2.0], rest)), origin=Origin(OriginKind.CONFIG))
    monkeypatch.setattr(run, "hangs_on_flow", lambda names: set(names) == {"a.x"})
    rules = book(rule_row(name="high", when="a.x > 1", at="a.x", level="error"))

    assert [finding.level for finding in rules.run({"a.x": fact})] == told


def test_currents_are_not_silenced_by_a_share() -> None:
    """Currents, temperatures and limits of what is set hang on no flow."""
    assert not hangs_on_flow(["motor.run_current", "motor.derated_current", "driver.rms_limit"])
    assert hangs_on_flow(["motor.run_current", "flow.capacity"])


@pytest.mark.parametrize(
    "text",
    [
        "shares: {error: 0.9}",
        "shares: {error: 0.5, warning: 0.8, note: 0.6}\nof: [flow.]\n" + OTHERS,
        "shares: {error: 2, warning: 0.8, note: 0.6}\nof: [flow.]\n" + OTHERS,
        "shares: {error: 0.9, warning: 0.8, note: 0.6}\nof: []\n" + OTHERS,
    ],
)
def test_a_mistake_in_the_table_is_told(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With its file; nothing is taken for granted."""
    monkeypatch.setattr(schema, "read_text", lambda *_: text)
    with pytest.raises(DataError) as caught:
        levels.build_levels()
    assert "levels.yaml" in str(caught.value)
