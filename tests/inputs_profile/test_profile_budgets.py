"""Bundles far larger than a maker's are refused in a sentence; a maker's own is read."""

from __future__ import annotations

import json

import pytest
from held import held
from tiers import only_wide, wide

from advisor.base import ProfileError
from advisor.base.budgets import ELEMENTS, PRESETS
from advisor.inputs.profile.texts import elements
from tests.inputs_profile.conftest import Ask

MAKERS = 4612  # presets of the largest real bundle in a survey of public profiles; it has 1 MB
CAP = "filament_max_volumetric_speed"


@wide
@only_wide
def test_a_bundle_as_large_as_a_makers_is_read(ask: Ask) -> None:
    """Each preset with a parent; one is asked for by name."""
    rows = "".join(
        f"[filament:f{i}]\ninherits = *c*\n{CAP} = {i % 30 + 1}\n" for i in range(MAKERS)
    )
    found = ask({"b.ini": f"[filament:*c*]\nfilament_type = PLA\n{rows}"}, presets=["f4600"])

    assert found.profiles[0].parents == ("*c*",)
    assert held(found.facts["demand.profile_flow"]) == pytest.approx((4600 % 30 + 1) * 1e-9)


@pytest.mark.parametrize("kind", ["ini", "json"])
def test_more_presets_than_any_bundle_are_refused(ask: Ask, kind: str) -> None:
    """Whatever their form, before anything is made of them."""
    if kind == "ini":
        text = "".join(f"[filament:f{i}]\n" for i in range(PRESETS + 1))
    else:
        text = json.dumps([{"type": "filament", "name": f"f{i}"} for i in range(PRESETS + 1)])
    with pytest.raises(ProfileError, match=f"more than {PRESETS} presets") as caught:
        ask({f"b.{kind}": text})

    assert caught.value.remedy == "export those you print with"
    assert caught.value.at is not None


def test_a_list_has_an_end() -> None:
    """Of a list of numbers as many are cut out as any machine has tools."""
    assert len(elements("9," * (ELEMENTS * 3))) == ELEMENTS
