"""An invented answer of `grip`, built by hand: soft filament in small gears, and its neighbours."""

from __future__ import annotations

from advisor.answers.curve_records import GripReport, GripRow
from advisor.answers.curves.grip import AS_IT_IS
from advisor.base import Band

PUSH = 10.0  # N, the filament of the machine
MATERIALS = {  # yield strength in MPa, grip in N in the machine's gears, times the push
    "tpu-85a": (4.5, 5.0, 1.0),
    "tpu-95a": (9.0, 12.5, 1.0),
    "pa66": (55.0, 80.0, 4.8),
    "pla": (60.0, 90.0, 1.1),
}
SIZES = {AS_IT_IS: (8.0, 2, 1.0), "single": (11.0, 1, 0.6), "twin-large": (15.0, 2, 1.4)}


def spread(value: float, part: float = 0.4) -> Band:
    return Band(value, value * (1 - part), value * (1 + part))


def exact(value: float) -> Band:
    return Band(value, value, value)


def row(material: str, gears: str, **more: object) -> GripRow:
    strength, grip, times = MATERIALS[material]
    diameter, driven, scale = SIZES[gears]
    share = PUSH * times / (grip * scale)
    plain = {
        "material": material, "gears": gears, "present": False,
        "gear_diameter": diameter, "driven_gears": exact(driven),
        "engaged_area": spread(3.5 * scale), "teeth_engaged": None,
        "grip": spread(grip * scale), "usable": spread(grip * scale / 2),
        "pressure": spread(PUSH * times / 3.5), "yield_strength": exact(strength),
        "share": spread(share), "marks": min(share, 1.0), "grinds": min(share / 3, 1.0),
        "grip_flow": spread(6.0 / times),
    } | more  # fmt: skip
    return GripRow(**plain)  # type: ignore[arg-type]


def rows(**own: object) -> tuple[GripRow, ...]:
    """All materials in all gears; the machine has tpu-95a in its own."""
    return tuple(
        row(material, gears, **_more(material, gears, own))
        for material in MATERIALS
        for gears in SIZES
    )


def _more(material: str, gears: str, own: dict[str, object]) -> dict[str, object]:
    if gears != AS_IT_IS:
        return {}
    if material == "tpu-95a":
        return {"present": True, "teeth_engaged": spread(3.0, 0.2)} | own
    return {"grip_flow": exact(0.0)} if material == "tpu-85a" else {}


def grip_answer(own: dict[str, object] | None = None, **more: object) -> GripReport:
    """The whole answer; parts of it, or of the machine's own row, may be put in their place."""
    plain = {
        "flow": exact(6.0), "flow_is": "the requested flow", "push": spread(PUSH),
        "usable_share": 0.5,
        "rows": rows(**(own or {})), "assumed": ("driven gears on the filament",),
        "cautions": ("Gears pull in fingers: switch the machine off first.",),
    } | more  # fmt: skip
    return GripReport(extruder="extruder", **plain)  # type: ignore[arg-type]
