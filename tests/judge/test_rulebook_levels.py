"""The level at which a finding is told: an assumption never makes an error."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from every import every
from held import made
from rulebook_helpers import book, rule_row

from advisor.base import Fact, Level, Origin, OriginKind, Trace
from advisor.judge import judged_level

E, W, N = Level.ERROR, Level.WARNING, Level.NOTE
TABLE = [
    # level, nominal, share, hangs on, told
    (E, True, 1.0, "", E),
    (E, True, 0.3, "", E),
    (E, False, 0.5, "", E),
    (E, False, 0.49, "", N),
    (E, False, 0.1, "", N),
    (E, False, 0.09, "", None),
    (E, True, 0.0, "", E),
    (W, False, 0.3, "", N),
    (N, False, 0.05, "", None),
    (E, True, 1.0, "assumed", W),
    (E, True, 0.5, "assumed", W),
    (E, True, 0.49, "assumed", N),
    (W, True, 0.49, "assumed", N),
    (W, True, 0.9, "assumed", W),
    (N, True, 0.9, "assumed", N),
    (E, False, 0.09, "assumed", None),
    (E, True, 0.95, "modelled", E),
    (E, True, 0.94, "modelled", W),
    (E, False, 0.95, "modelled", E),
    (E, True, 0.3, "modelled", N),
    (W, True, 0.7, "modelled", W),
    (E, True, 0.99, "assumed modelled", W),
    (E, True, 1.0, "defaulted", N),
    (W, True, 1.0, "defaulted", N),
    (E, False, 0.05, "defaulted", None),
    (E, True, 1.0, "defaulted assumed", N),
]


@every(("level", "nominal", "share", "hangs", "told"), TABLE)
def test_the_table_of_levels(
    level: Level, nominal: bool, share: float, hangs: str, told: Level | None
) -> None:
    """Sample 0 or half of the ensemble for the level, a tenth for a note; caps as decided."""
    flags = {word: word in hangs.split() for word in ("assumed", "modelled", "defaulted")}

    assert judged_level(level, nominal=nominal, share=share, **flags) is told


def test_more_doubt_never_makes_a_finding_louder() -> None:
    """Whatever is added to what it hangs on, the level does not rise."""

    def rank(told: Level | None) -> int:
        return told.rank if told else 0

    for level in (E, W, N):
        for nominal in (True, False):
            for share in np.linspace(0, 1, 41):
                plain = judged_level(level, nominal=nominal, share=share)
                for word in ("assumed", "modelled", "defaulted"):
                    doubt = judged_level(level, nominal=nominal, share=share, **{word: True})
                    assert rank(doubt) <= rank(plain)
                assert rank(plain) <= level.rank


SPREAD = np.concatenate(([2.0], np.linspace(0.0, 2.0, 1000)))  # nominal high, half of it above 1


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, E),
        ({"assumed": frozenset({"b.x"})}, W),
        ({"modelled": frozenset({"b.x"})}, W),
        ({"origin": Origin(OriginKind.DEFAULT)}, N),
    ],
)
def test_the_level_follows_the_facts_a_condition_hangs_on(
    more: dict[str, Any], told: Level
) -> None:
    """What the used facts are made of decides, not what is written elsewhere."""
    fact = made("a.x", "-", SPREAD, **{"origin": Origin(OriginKind.CONFIG), **more})
    rules = book(rule_row(name="high", when="a.x > 1", at="a.x", level="error"))
    found = rules.run({"a.x": fact})

    assert [finding.level for finding in found] == [told]
    assert found[0].sure == pytest.approx(0.5, abs=0.002)


def test_asking_how_a_fact_is_known_does_not_hang_on_it() -> None:
    """`stated(x)` looks at a fact and does not use its value."""
    guess = Fact.of("b.x", "-", 1.0, trace=Trace(assumed=frozenset({"b.x"})))
    sure = Fact.of("a.x", "-", 2.0, origin=Origin(OriginKind.CONFIG))
    rules = book(rule_row(name="high", when="a.x > 1 and assumed(b.x)", at="a.x", level="error"))
    found = rules.run({"a.x": sure, "b.x": guess})

    assert found[0].level is E
    assert found[0].facts == ("a.x",)
