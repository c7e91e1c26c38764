"""Reports built by hand, so that the renderers are tested without the rest of the program."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from held import made

from advisor.answers.derate_records import DerateReport
from advisor.answers.machine_records import Derivation, Explanation
from advisor.base import (
    Band,
    ExtruderReport,
    Fact,
    Figure,
    FileStatus,
    Finding,
    Fix,
    Level,
    LimitBand,
    MeasureGroup,
    MeasureInput,
    Origin,
    OriginKind,
    Report,
    Span,
    State,
)

CONFIG = "workshop/printer.cfg"
SHEET = "workshop/hardware.yaml"


def spread(value: float, low: float, high: float, size: int = 101) -> np.ndarray:
    """An ensemble whose sample 0 is `value` and whose 5-95 % band is about low to high."""
    rest = np.linspace(low - (high - low) / 18, high + (high - low) / 18, size - 1)
    return np.concatenate(([value], rest))


def stated(name: str, value: float, unit: str, line: int, setting: str) -> Fact:
    at = Span(CONFIG, line, 15, 18)
    return made(name, unit, value, origin=Origin(OriginKind.CONFIG, at, setting=setting))


def derived(name: str, samples: object, unit: str, **more: object) -> Fact:
    return made(name, unit, samples, origin=Origin(OriginKind.DERIVED), **more)


def assumed(name: str, samples: object, unit: str) -> Fact:
    return made(name, unit, samples, origin=Origin(OriginKind.CATALOGUE, source="workshop-notes"))


def unit_of(fact: Fact) -> str:
    """The trade unit of a fact, of one that is not known too."""
    return fact.number.unit if fact.number else _UNITS.get(fact.name, "")


_UNITS = {
    "drive.rotation_distance": "mm", "motion.pressure_advance": "s", "flow.capacity": "mm3/s",
    "motor.current_for_mount": "A rms", "motor.run_current": "A rms",
    **{f"flow.{one}": "mm3/s" for one in ("torque", "skip", "grip", "slip", "buckling", "melt",
                                          "heater")},
}  # fmt: skip


def figures(*facts: Fact) -> dict[str, Figure]:
    """What an answer holds of `facts`: each in its trade unit."""
    return {fact.name: Figure(fact, fact.name, unit_of(fact)) for fact in facts}


def facts_of_a_machine(asked: float | None) -> dict[str, Figure]:
    guesses = frozenset({"motor.class", "hotend.melt_length", "drive.bite_depth", "drive.free_gap"})
    facts = [
        stated("drive.gear_ratio", 9.5, "-", 40, "gear_ratio"),
        stated("drive.rotation_distance", 0.0471, "mm", 41, "rotation_distance"),
        stated("motor.run_current", 0.7, "A rms", 52, "run_current"),
        derived("drive.travel_per_motor_turn", 0.0471 / 9.5, "mm"),
        assumed("motor.class", "round-36", ""),
        assumed("hotend.melt_length", spread(12.5e-3, 10e-3, 35e-3), "mm"),
        assumed("drive.bite_depth", spread(0.15e-3, 0.10e-3, 0.20e-3), "mm"),
        assumed("drive.free_gap", spread(4e-3, 2e-3, 8e-3), "mm"),
        made("driver.interpolate", "", True, origin=Origin(OriginKind.DEFAULT)),
        made("motion.pressure_advance", "s", state=State.UNKNOWN),
        derived("flow.torque", spread(9.8e-9, 8.4e-9, 11e-9), "mm3/s"),
        derived("flow.firmware", 640e-9, "mm3/s"),
        derived("flow.capacity", spread(9.7e-9, 6.1e-9, 14e-9), "mm3/s", assumed=guesses),
    ]
    if asked is not None:
        facts += [
            made("demand.profile_flow", "mm3/s", asked * 1e-9,
                 origin=Origin(OriginKind.PROFILE, Span("workshop/fast.ini", 12))),
            derived("demand.asked_flow", asked * 1e-9, "mm3/s", inputs=("demand.profile_flow",)),
        ]  # fmt: skip
    return figures(*facts)


LIMITS = (
    LimitBand("torque", 9.8, 8.4, 11.0, 0.31),
    LimitBand("skip", 11.5, 10.0, 13.0),
    LimitBand("grip", 9.7, 5.5, 14.0, 0.52),
    LimitBand("slip", 12.7, 7.0, 18.0),
    LimitBand("buckling", 16.1, 11.0, 21.0, 0.01),
    LimitBand("melt", 11.1, 9.1, 31.0, 0.16),
    LimitBand("heater", 76.4, 60.0, 93.0),
)
MEASURES = (
    MeasureGroup(
        "grip", "grip of the gears", 0.612, (
            MeasureInput("drive.bite_depth", 0.412, "depth of the teeth in the filament",
                         "drive.bite_depth"),
            MeasureInput("model.grip_share", 0.2, "share of the grip usable without loss"),
        ),
        "bypass the hotend and pull the filament with a spring scale until the gears slip",
    ),
    MeasureGroup(
        "geometry", "size of the parts", 0.388, (
            MeasureInput("hotend.melt_length", 0.388, "melt-zone length", "hotend.melt_length"),
        ),
        "measure the heated length",
    ),
)  # fmt: skip
FINDINGS = (
    Finding(
        "run-current-above-derated", Level.WARNING, "motor",
        "run current 0.70 A RMS is above the derated 0.56 A RMS",
        title="Run current above the derated limit", extruder="extruder", sure=0.934,
        at=Span(CONFIG, 52, 14, 18),
        fix=Fix("run_current", "0.56", "0.70", Span(CONFIG, 52, 14, 18), "tmc2209 extruder"),
        why="The winding runs hotter than its insulation and the mount bear.",
        caution="the motor and its mount are hot after a long run; let them cool first",
        source="motor-handbook", facts=("motor.run_current", "motor.derated_current"),
    ),
    Finding(
        "asked-flow-above-capacity", Level.ERROR, "slicer",
        "24 mm3/s are asked and the grip allows 9.7 mm3/s (6.1 to 14)",
        title="More flow asked than the extruder can deliver", extruder="extruder", sure=1.0,
        at=Span("workshop/fast.ini", 12, 1, 9), advice="cap the flow in the slicer at 9.6 mm3/s",
        why="Beyond the limit the filament slips.", source="feed-notes",
    ),
    Finding(
        "sense-resistor-missing", Level.NOTE, "motor",
        "the driver section states no sense resistor", at=Span(CONFIG, 50),
        fix=Fix("sense_resistor", "0.110", None, Span(CONFIG, 50), "tmc2209 extruder"),
        why="Without it the applied current is a guess.",
    ),
)  # fmt: skip


def machine() -> Report:
    """One extruder, asked 24 mm3/s, over-driven: every kind of finding."""
    extruder = ExtruderReport(
        "extruder", facts_of_a_machine(24.0), LIMITS, "grip", ("torque", "melt"), MEASURES
    )
    files = (FileStatus(CONFIG, "read"), FileStatus("workshop/fast.ini", "read", "profile"))
    return Report(files, (extruder,), FINDINGS)


def quiet_machine() -> Report:
    """One extruder of which nothing is asked and nothing is wrong."""
    extruder = ExtruderReport("extruder", facts_of_a_machine(None), LIMITS, "grip", ("torque",))
    return Report((FileStatus(CONFIG, "read"),), (extruder,))


def bare_machine() -> Report:
    """An extruder of which too little is known to compute anything."""
    limits = tuple(LimitBand(x.limit, None, None, None) for x in LIMITS)
    distance = made("drive.rotation_distance", "mm", state=State.MISSING)
    flows = [
        made(f"flow.{x.limit}", "mm3/s", state=State.MISSING, inputs=(distance.name,))
        for x in LIMITS
    ]
    capacity = made(
        "flow.capacity",
        "mm3/s",
        state=State.MISSING,
        inputs=tuple(fact.name for fact in flows),
    )
    facts = figures(distance, *flows, capacity)
    extruder = ExtruderReport("extruder", facts, limits, None)
    return Report((FileStatus(CONFIG, "read"),), (extruder,))


def unreadable() -> Report:
    """Nothing could be read."""
    files = (FileStatus("gone.cfg", "missing"),)
    return Report(files, errors=("gone.cfg: there is no such file; check the path",))


def _step(
    fact: Fact, title: str, formula: str | None, depth: int, repeated: bool = False
) -> Derivation:
    return Derivation(figures(fact)[fact.name], title, formula, depth, repeated)


def amperes(value: float, low: float | None = None, high: float | None = None) -> Band:
    return Band(value, value if low is None else low, value if high is None else high)


def derating() -> DerateReport:
    """A 1.0 A rating of unsure basis with a known driver, on a printed mount."""
    return DerateReport(
        rating=1.0, basis="unsure", share=0.8,
        rated_current_rms=amperes(0.7071), derated_current=amperes(0.5657, 0.52, 0.5657),
        set_current=0.56, no_setting=None, applied_current=amperes(0.5583, 0.54, 0.58),
        winding_temperature=Band(62.0, 54.0, 71.0), case_temperature=Band(51.0, 45.0, 58.0),
        limits={
            "share": amperes(0.5657), "winding": amperes(0.95, 0.82, 1.08),
            "mount": amperes(0.61, 0.52, 0.70),
        },
        governed_by="share", cautious=amperes(0.5657), thermal=amperes(1.0), peak_amplitude=0.792,
        ambient=Band(25.0, 25.0, 25.0), mount="petg", driver="tmc2209", sense_resistor=0.11,
        full_scale_current=amperes(1.77, 1.7, 1.84),
        motor="round-36", material="pla", torque_share=0.79, push_share=0.77,
        case_soon=Band(38.0, 34.0, 42.0), case_later=Band(50.0, 44.0, 57.0),
        time_constant=Band(1020.0, 780.0, 1320.0), stop_reading=44.0,
        gear_temperature=Band(41.0, 35.0, 52.0), filament_limit=Band(50.0, 50.0, 50.0),
        filament_current=amperes(0.7, 0.55, 0.9),
        assumptions=("The motor is a round-36: 1.0 A, 0.10 N m.",),
        cautions=("Motor and mount get hot; let them cool before you touch them.",),
    )  # fmt: skip


def no_setting() -> DerateReport:
    """A mount that bears no current at all at this ambient."""
    return replace(
        derating(), set_current=None, applied_current=None, driver=None, sense_resistor=None,
        no_setting="at an ambient of 60 degC no current is safe for a PLA mount",
        full_scale_current=None,
        winding_temperature=None, case_temperature=None, peak_amplitude=None,
        torque_share=None, push_share=None, case_soon=None, case_later=None, stop_reading=None,
        time_constant=None, gear_temperature=None,
        governed_by="mount", limits={"mount": amperes(0.0), "share": amperes(0.5657)},
        derated_current=amperes(0.0), ambient=Band(60.0, 60.0, 60.0), mount="pla",
    )  # fmt: skip


def explanation() -> Explanation:
    """A derated current with its derivation: 0.566 A = 0.8 x 1.00 A / sqrt 2."""
    rating = made(
        "motor.rated_current",
        "A",
        1.0,
        origin=Origin(
            OriginKind.SHEET, Span(SHEET, 3, 20), setting="motor.rated_current", text="1.0 A"
        ),
    )
    share = made(
        "motor.derating_share",
        "-",
        0.8,
        origin=Origin(OriginKind.CATALOGUE, source="common practice"),
    )
    rms = derived("motor.rated_current_rms", 0.70711, "A rms", inputs=("motor.rated_current",))
    whole = derived(
        "motor.derated_current",
        spread(0.5657, 0.52, 0.5657),
        "A rms",
        inputs=("motor.derating_share", "motor.rated_current_rms"),
    )
    mount = made("drive.mount", "", "petg", origin=Origin(OriginKind.SHEET, Span(SHEET, 9)))
    limit = made("motor.current_for_mount", "A rms", state=State.MISSING)
    return Explanation(
        "fact", "motor.derated_current", "derated current",
        (("Meaning", "the smallest of the derating share and the heat limits"),
         ("Unit", "A RMS")),
        extruder="extruder",
        derivation=(
            _step(whole, "derated current", "lowest of share x rated RMS and heat limits", 0),
            _step(share, "share of the rating to use", None, 1),
            _step(rms, "rated RMS current", "rated current / sqrt 2", 1),
            _step(rating, "rated current per phase", None, 2),
            _step(limit, "current for the mount", "heat model", 1),
            _step(mount, "motor mount", None, 2),
            _step(rms, "rated RMS current", "rated current / sqrt 2", 1, repeated=True),
        ),
    )  # fmt: skip


def material() -> Explanation:
    """A catalogue entry with numbers."""
    numbers = (
        {"fact": "material.density", "low": 1.2, "typical": 1.24, "high": 1.27, "unit": "g/cm3",
         "source": "datasheets", "status": "FOUND"},
        {"fact": "material.softening_temperature", "low": 58, "typical": 60, "high": 62,
         "unit": "degC", "source": "handbook", "status": "FOUND"},
        {"fact": "drive.driven_gears", "low": 2, "typical": 2, "high": 2, "unit": "-",
         "source": None, "status": "COMMON PRACTICE"},
    )  # fmt: skip
    lines = (("About", "Hard, low shrinkage; softens early."),)
    return Explanation("material", "pla", "polylactide", lines, numbers)
