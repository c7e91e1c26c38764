"""Published observations held against the bands of the model.

Every row is what somebody reported of a machine (owners' reports unless said otherwise; read in
public pages and issue threads in 2026; addresses that would name a product are left out). The
machine is described by what the row says and by nothing else: two driven gears where it says twin
gears, and both a geared pancake and a full-size motor where it leaves the motor open. 1.75 mm
filament and a 0.4 mm bore unless said; `*` marks rows that the model was set on.

Kinds: a click or a maximum is held against the lower of skip and slip; what printed safely against
the capacity; "over" is inside where the band reaches above; a force against the grip or the guide's
drag. A row is inside where it lies in the 5-95 % band.

Run `python tests/studies/published_points.py` for the table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from advisor.base import Fact, Origin, OriginKind
from advisor.base.units import parse_unit
from advisor.catalog import load_catalog
from advisor.machine.assemble import ExtruderInputs, build_facts
from advisor.machine.graph import FactBook

FIRMWARE = {"motor.full_steps": 200.0, "motor.microsteps": 16.0, "hotend.max_power": 1.0}
PANCAKE = {"motor.class": "round-36", "drive.gear_ratio": 9.5, "drive.stages": 2.0,
           "drive.rotation_distance": 47.1}  # fmt: skip
MIDDLE = {"motor.class": "round-36", "drive.gear_ratio": 7.5, "drive.stages": 2.0,
          "drive.rotation_distance": 37.2}  # fmt: skip
FULL_SIZE = {"motor.class": "square-42-long", "drive.gear_ratio": 50 / 17, "drive.stages": 1.0,
             "drive.rotation_distance": 22.7}  # fmt: skip
DIRECT = {"motor.class": "square-42-long", "drive.gear_ratio": 1.0, "drive.stages": 0.0,
          "drive.rotation_distance": 34.6}  # fmt: skip
TWIN = {"drive.driven_gears": 2.0}
SINGLE = {"drive.driven_gears": 1.0}
OPEN = (PANCAKE, MIDDLE, FULL_SIZE)  # the drive is not told
STANDARD = {"hotend.class": "standard"}
LONG = {"hotend.class": "long"}
EXTRA = {"hotend.class": "extra-long"}
SPLIT = {"hotend.insert": "split-3"}
TUBE = {"drive.path": "bowden"}


def of(material: str, temperature: float | None = None) -> dict[str, Any]:
    """What a row says of the filament."""
    hot = {} if temperature is None else {"hotend.temperature": temperature}
    return {"filament.material": material, **hot}


@dataclass(frozen=True, slots=True)
class Point:
    """One observation: what was seen, of what kind, on which machine."""

    name: str
    told: str
    source: str
    seen: tuple[float, float]  # equal where the row gives one figure
    kind: str  # maximum | safe | over | grip | guide
    machine: Mapping[str, Any] = field(default_factory=dict)
    drives: tuple[Mapping[str, Any], ...] = OPEN
    starred: bool = False
    same_as: str | None = None  # rows of one machine count as two at most


FORUM = "forum test of 2013, in an open text corpus"
FORCES = "3dprinting.stackexchange.com/questions/768"
P1_MACHINE = {"filament.diameter": 2.85, **SINGLE, **STANDARD, **TUBE}
P1_CLICKS = ((180, 1.59), (190, 2.97), (200, 4.24), (210, 5.59), (220, 7.00), (230, 8.25),
             (240, 9.54))  # fmt: skip
POINTS = (
    *(Point(f"P{n}", f"first click, 2.85 mm PLA, feed tube, {hot} degC", FORUM, (flow, flow),
            "maximum", {**P1_MACHINE, **of("pla", float(hot))}, (DIRECT, FULL_SIZE), starred=True,
            same_as="P1")
      for n, (hot, flow) in enumerate(P1_CLICKS, start=1)),
    Point("P8", "0.2 mm bore, PLA", "a maker's retest, issue of 2023", (3.0, 3.0), "maximum",
          {"nozzle.diameter": 0.2, **STANDARD, **TWIN, **of("pla")}, starred=True),
    Point("P9", "short zone, PLA, real limit", "muppetlabs.co/3dprinting_speed_illusion.html",
          (11.5, 11.5), "maximum", {**STANDARD, **of("pla")}),
    Point("P10", "short zone, PLA, safe", "issue of 2019", (8.0, 8.0), "safe",
          {**STANDARD, **TWIN, **of("pla")}, same_as="P10"),
    Point("P10v", "the same, under-extrusion visible", "issue of 2019", (10.0, 10.0), "maximum",
          {**STANDARD, **TWIN, **of("pla")}, same_as="P10"),
    Point("P11", "weighed half metres, 215 degC, under 5 % lost", "issue of 2020", (8.0, 8.0),
          "safe", {**STANDARD, **TWIN, **of("pla", 215.0)}),
    Point("P12", "split nozzle 0.8 mm, PLA 230 degC", "issue of 2025", (25.5, 25.5), "maximum",
          {"nozzle.diameter": 0.8, **LONG, **SPLIT, **of("pla", 230.0)}, starred=True),
    Point("P13", "the same, PETG 250 degC", "issue of 2025", (28.5, 28.5), "maximum",
          {"nozzle.diameter": 0.8, **LONG, **SPLIT, **of("petg", 250.0)}, starred=True),
    Point("P14", "like type, another tester, PETG 260 degC", "issue of 2025", (40.0, 40.0), "over",
          {"nozzle.diameter": 0.8, **LONG, **SPLIT, **of("petg", 260.0)}),
    Point("P15", "the same, PLA 230 degC", "issue of 2025", (40.0, 40.0), "over",
          {"nozzle.diameter": 0.8, **LONG, **SPLIT, **of("pla", 230.0)}),
    Point("P16", "TPU 95A, direct, safe", "issue of 2025", (4.0, 4.0), "safe",
          {**TWIN, **of("tpu-95a")}, starred=True, same_as="P16"),
    Point("P16p", "the same, poor above", "issue of 2025", (5.0, 5.0), "maximum",
          {**TWIN, **of("tpu-95a")}, starred=True, same_as="P16"),
    Point("P17", "single gear, 1.75 mm, pulled until it slips", FORCES, (36.0, 44.0), "grip",
          {**SINGLE, **of("pla")}, (DIRECT,)),
    Point("P18", "drag of spool and guide", FORCES, (4.4, 8.9), "guide", of("pla")),
    Point("P21", "single gear, PLA 220 degC, 1.67 mm filament, 200 mm held at 5 mm/s",
          "a board maker's guide", (10.9, 10.9), "maximum",
          {"filament.diameter": 1.67, **STANDARD, **SINGLE, **of("pla", 220.0)}, (DIRECT,)),
    Point("P22", "TPU 95A, 250 degC, reliable", "issue of 2023", (8.0, 8.0), "safe",
          {**TWIN, **LONG, **of("tpu-95a", 250.0)}),
    Point("P23", "long split hotend, 0.5 mm bore, 0.6-0.65 A RMS", "issue of 2024", (70.0, 70.0),
          "maximum", {"nozzle.diameter": 0.5, "motor.run_current": 0.625, **EXTRA, **SPLIT},
          (PANCAKE, MIDDLE)),
    Point("P24", "PETG of a high-flow grade, 255 degC", "issue of 2026", (40.0, 40.0), "maximum",
          {**EXTRA, **of("petg", 255.0)}),
)  # fmt: skip
FLOWS = ("maximum", "safe", "over")


@dataclass(frozen=True, slots=True)
class Held:
    """A point beside the model's band."""

    point: Point
    low: float
    typical: float
    high: float

    @property
    def inside(self) -> bool:
        """Whether the band holds what was seen; ranges must share a part."""
        first, last = self.point.seen
        if self.point.kind == "over":
            return self.high >= first
        return first <= self.high and last >= self.low


def book_of(stated: Mapping[str, Any]) -> FactBook:
    """Build the facts of a machine of which this alone is told, in trade units."""
    catalog = load_catalog()
    facts = {}
    for name, value in {**FIRMWARE, **stated}.items():
        unit = catalog.facts[name].unit
        si = value if isinstance(value, str) else float(parse_unit(unit).to_si(value))
        facts[name] = Fact.of(name, unit, si, origin=Origin(OriginKind.SHEET))
    return build_facts(ExtruderInputs("extruder", facts), catalog)


def samples_of(point: Point) -> np.ndarray:
    """Return what a point is held against, of all drives the row leaves open, in mm3/s or N."""
    return np.concatenate([_against(point.kind, book_of({**point.machine, **drive}))
                           for drive in point.drives])  # fmt: skip


def _against(kind: str, book: FactBook) -> np.ndarray:
    def full(name: str) -> np.ndarray:
        return np.broadcast_to(np.asarray(book.samples(name), float), (2048,))

    if kind == "grip":
        return full("force.grip")
    if kind == "guide":
        return full("model.guide_force")
    if kind == "maximum":
        return np.minimum(full("flow.skip"), full("flow.slip")) * 1e9
    return full("flow.capacity") * 1e9


def held(point: Point) -> Held:
    """Hold a point against its 5-95 % band."""
    low, typical, high = np.percentile(samples_of(point), [5, 50, 95])
    return Held(point, float(low), float(typical), float(high))


def table() -> Iterator[Held]:
    """Yield every point beside its band."""
    for point in POINTS:
        yield held(point)


def told(row: Held) -> str:
    """Return a point beside its band as one line."""
    first, last = row.point.seen
    seen = f"{first:g}" if first == last else f"{first:g}-{last:g}"
    mark = "inside " if row.inside else "OUTSIDE"
    star = "*" if row.point.starred else " "
    band = f"{row.low:5.1f} {row.typical:5.1f} {row.high:5.1f}"
    return f"{row.point.name:5}{star} {mark} {seen:>7} {row.point.kind:8} {band}  {row.point.told}"


def counts(rows: list[Held]) -> dict[str, tuple[int, int]]:
    """Return how many flow points are inside, of how many, starred and unstarred apart.

    Rows of one machine count as two at most: inside by the share of them that is.
    """
    found = {}
    for name, starred in (("unstarred", False), ("starred", True)):
        wanted = [r for r in rows if r.point.kind in FLOWS and r.point.starred is starred]
        inside = total = 0
        for key in dict.fromkeys(r.point.same_as or r.point.name for r in wanted):
            group = [r.inside for r in wanted if (r.point.same_as or r.point.name) == key]
            weight = min(len(group), 2)
            total += weight
            inside += int(weight * sum(group) / len(group))
        found[name] = (inside, total)
    return found


if __name__ == "__main__":
    rows = list(table())
    print("point  held      seen against    low   typ  high  told")
    for row in rows:
        print(told(row))
    for name, (inside, total) in counts(rows).items():
        print(f"{name}: {inside} of {total} flow points inside")
