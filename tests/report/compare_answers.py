"""An invented answer of `compare`, built by hand: two parts changed, after a weighed test."""

from __future__ import annotations

from advisor.answers.build_records import CompareReport, LeverAnswer, TargetReport, Variant
from advisor.base import Band, Weighed


def spread(value: float, part: float = 0.2) -> Band:
    return Band(value, value * (1 - part), value * (1 + part))


def variant(number: int, name: str, short: str, flow: float, stage: str, **more: object) -> Variant:
    plain: dict[str, object] = {
        "above_derated": False, "better_share": None, "worse_share": None, "delivers_asked": 0.4,
        "narrower": 0.7,
    } | more  # fmt: skip
    return Variant(
        number=number, name=name, short=short, capacity=spread(flow), bottleneck=stage,
        bottleneck_share=0.8, skip=spread(flow * 1.2), case_temperature=spread(48.0),
        run_current=spread(0.551, 0.0), derated_current=spread(0.566, 0.0),
        motor_mass=spread(75.0, 0.0), microstep=spread(0.0016, 0.0), lag=spread(0.012),
        retract_trusted=spread(110.0), retract_torque=spread(160.0),
        skip_push=spread(54.0), slip_push=spread(70.0), advance_peak=spread(flow * 2.0),
        advance_speed_share=spread(flow / 25.0), advance_inside=flow < 15.0, **plain,
    )  # fmt: skip


VARIANTS = (
    variant(1, "as it is", "as it is", 15.6, "torque", delivers_asked=0.07),
    variant(2, "nozzle.diameter=0.6mm, motor.run_current=derated", "0.6mm, derated", 19.1,
            "torque", better_share=1.0, worse_share=0.0, delivers_asked=0.74, narrower=0.67),
    variant(3, "nozzle.diameter=0.6mm, motor.run_current=0.9A", "0.6mm, 0.9A", 20.2, "grip",
            better_share=0.996, worse_share=0.0, delivers_asked=0.9, above_derated=True,
            narrower=0.71, notes=("another gear has another rotation distance",)),
    variant(4, "nozzle.diameter=0.6mm, motor.class=a-long-name-of-a-motor-class",
            "0.6mm, a-long-name-of-a-motor-class", 11.0, "buckling",
            better_share=0.1, worse_share=0.88, delivers_asked=0.004, narrower=-0.1),
)  # fmt: skip


def lever(fact: str, title: str, unit: str, flow: float, **more: object) -> LeverAnswer:
    plain: dict[str, object] = {
        "assumed": False, "to": None, "one_step_less": None, "one_step_less_sure": None,
        "best": None, "change": None, "limited_by": "the longest there is",
    } | more  # fmt: skip
    return LeverAnswer(
        fact=fact, title=title, unit=unit, now=0.4, capacity=spread(flow), bottleneck="torque",
        sure=0.36, limit=1.2, **plain,
    )  # fmt: skip


TARGET = TargetReport(
    target=20.0,
    capacity=spread(15.6),
    reached=False,
    bottleneck="torque",
    levers=(
        lever("nozzle.diameter", "nozzle diameter", "mm", 20.0021, to=0.658, one_step_less=19.9963,
              assumed=True, note="the lines become wider with it"),
        lever("drive.gear_ratio", "gear ratio", "-", 16.4, best=10.255),
        lever("drive.driven_gears", "driven gears on the filament", "-", 15.6),
    ),
)  # fmt: skip

WEIGHED = Weighed(
    files=("roll.csv",), before=Band(15.0, 8.7, 20.0), after=spread(15.6), narrower=0.7, fits=0.3
)


def compare_answer(**more: object) -> CompareReport:
    plain: dict[str, object] = {
        "extruder": "extruder", "variants": VARIANTS, "weighed": WEIGHED, "target": TARGET,
        "asked": Band(18.0, 18.0, 18.0), "varied": ("nozzle.diameter", "motor.run_current"),
        "left_out": 2,
    } | more  # fmt: skip
    return CompareReport(**plain)  # type: ignore[arg-type]
