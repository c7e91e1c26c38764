"""What a slicer profile states, as facts; the flow of its features is worked out here."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, Number, Origin, OriginKind, State, Trace
from advisor.catalog import Catalog
from advisor.physics import motion

if TYPE_CHECKING:
    from advisor.inputs import Feature, ProfileSet

__all__ = ["feature_flow", "profile_facts"]

_FLOW = "demand.feature_flow"


def profile_facts(profiles: ProfileSet | None, catalog: Catalog) -> Mapping[str, Fact]:
    """Return the facts a set of profiles states, with the largest flow of their features.

    A material the catalogue does not know is not handed on: it says nothing of the filament.
    """
    if profiles is None:
        return {}
    facts = {name: fact for name, fact in profiles.facts.items() if name in catalog.facts}
    material = facts.get("filament.material")
    if material is not None and material.known and material.text not in catalog.materials:
        facts["filament.material"] = dataclasses.replace(material, state=State.MISSING, value=None)
    elif material is not None and material.known:
        facts["profile.material"] = dataclasses.replace(material, name="profile.material")
    temperature = facts.get("profile.temperature")
    if temperature is not None and temperature.known:
        facts["hotend.temperature"] = dataclasses.replace(temperature, name="hotend.temperature")
    largest = _largest(profiles.features)
    if largest is not None:
        facts[_FLOW] = largest
    return facts


def feature_flow(feature: Feature) -> float | None:
    """Return the flow a feature asks for, [m3/s]; None where its width or height is open."""
    if feature.width is None or feature.height is None:
        return None
    if feature.round:
        area = np.pi / 4.0 * feature.width * feature.height
        return float(feature.speed * area * feature.flow_ratio)
    flow = motion.line_flow(
        feature.speed, width=feature.width, height=feature.height, flow_ratio=feature.flow_ratio
    )
    return float(flow)


def _largest(features: tuple[Feature, ...]) -> Fact | None:
    flows = [(flow, f) for f in features if (flow := feature_flow(f)) is not None]
    if not flows:
        return None
    flow, feature = max(flows, key=lambda pair: pair[0])
    speed = feature.origins.get("speed")
    return Fact(
        _FLOW,
        Number(flow, "mm3/s"),
        origin=dataclasses.replace(speed, text=None) if speed else Origin(OriginKind.PROFILE),
        trace=Trace(formula=f"speed x line cross-section of the {feature.title}"),
    )
