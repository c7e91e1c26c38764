"""What a slicer profile states, as facts; the flow of its features is worked out here."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, Number, Origin, OriginKind, State, Trace
from advisor.catalog import Catalog
from advisor.physics import motion

if TYPE_CHECKING:
    from advisor.inputs import Feature, ProfileSet

__all__ = ["feature_flow", "one_family", "profile_facts"]

NOTHING: Mapping[str, Fact] = MappingProxyType({})
_FLOW = "demand.feature_flow"
_LETTERS = re.compile(r"[a-z]+")


def profile_facts(
    profiles: ProfileSet | None, catalog: Catalog, stated: Mapping[str, Fact] = NOTHING
) -> Mapping[str, Fact]:
    """Return the facts a set of profiles states, with the largest flow of their features.

    A material the catalogue does not know is not handed on: it says nothing of the filament. Nor is
    one whose kind the profile leaves open ("TPU") where `stated`, what is said beside it, names a
    kind of the same family.
    """
    if profiles is None:
        return {}
    facts = {name: fact for name, fact in profiles.facts.items() if name in catalog.facts}
    material = facts.get("filament.material")
    if material is not None and material.known and material.text not in catalog.materials:
        facts["filament.material"] = dataclasses.replace(material, state=State.MISSING, value=None)
    elif material is not None and _is_open(profiles) and _fits(material, stated):
        del facts["filament.material"]
    elif material is not None and material.known:
        facts["profile.material"] = dataclasses.replace(material, name="profile.material")
    temperature = facts.get("profile.temperature")
    if temperature is not None and temperature.known:
        facts["hotend.temperature"] = dataclasses.replace(temperature, name="hotend.temperature")
    facts.update(_line(profiles.features))
    largest = _largest(profiles.features)
    if largest is not None:
        facts[_FLOW] = largest
    return facts


def one_family(one: str, other: str) -> bool:
    """Whether two names of materials are kinds of one plastic: their letters are the same.

    >>> one_family("tpu-95a", "tpu-85a"), one_family("pa6", "pa12"), one_family("pla", "petg")
    (True, True, False)
    """
    first, second = (_LETTERS.match(name) for name in (one, other))
    return first is not None and second is not None and first[0] == second[0]


def _is_open(profiles: ProfileSet) -> bool:
    return any(event.kind == "profile-material-assumed" for event in profiles.events)


def _fits(material: Fact, stated: Mapping[str, Fact]) -> bool:
    said = stated.get("filament.material")
    return said is not None and one_family(said.text or "", material.text or "")


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


def _line(features: tuple[Feature, ...]) -> dict[str, Fact]:
    """Return the sizes of the line that takes most filament at the acceleration it is printed at.

    A line whose acceleration is open counts with the largest that the profile states. A free
    thread is no line.
    """
    lines = [one for one in features if not one.round and one.width and one.height]
    if not lines:
        return {}
    most = max((one.acceleration or 0.0 for one in lines), default=0.0) or 1.0
    line = max(lines, key=lambda one: _section(one) * (one.acceleration or most))
    sizes = {"width": line.width, "height": line.height}
    return {
        name: Fact(
            name,
            Number(size, "mm"),
            origin=line.origins.get(part, Origin(OriginKind.PROFILE)),
            trace=Trace(formula=f"{part} of the {line.title}"),
        )
        for part, size in sizes.items()
        if size is not None and (name := f"motion.line_{part}")
    }


def _section(line: Feature) -> float:
    return float(motion.bead_area(width=line.width or 0.0, height=line.height or 0.0))
