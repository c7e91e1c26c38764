"""Answers of `diagnose`, written by hand: an invented machine with a hot motor."""

from __future__ import annotations

from dataclasses import replace

from advisor.answers import (
    CauseLine,
    CauseOdds,
    CurrentDoubt,
    DiagnoseReport,
    FedLength,
    NextTest,
    OutcomeMeaning,
)
from advisor.base import Band

_ELECTRIC = "Switch the power off, pull the plug and wait before you touch wiring."


def _cause(name: str, odds: float, title: str, **more: object) -> CauseOdds:
    plain = CauseOdds(
        name=name, family="gears", title=title, odds=odds, speaks_for=(), speaks_against=(),
        remedy="Brush the teeth clean.", cautions=("Keep fingers away from gears that turn.",),
        confirm="look-gears",
    )  # fmt: skip
    return replace(plain, **more)


def diagnose_answer() -> DiagnoseReport:
    """Two lines, one of two causes; what a case and a length tell; a test to do."""
    resistor = _cause(
        "resistor", 0.52, "The sense resistor is smaller than the config says", family="resistor",
        speaks_for=("the motor is too hot to touch", "motor case 88 degC after 30 min"),
        remedy="Read the sense resistor on the driver board.", cautions=(_ELECTRIC,),
    )  # fmt: skip
    dirty = _cause("dirty", 0.2, "The gears are worn", speaks_for=("lines come out thin",))
    loose = _cause("loose", 0.11, "The idler presses too weakly",
                   speaks_against=("the motor is too hot to touch",))  # fmt: skip
    test = NextTest(
        name="look-gears", title="a look at the gears", do="Look at the teeth from outside.",
        risk=0, minutes=3.0, reads=None, look="dust in the teeth", cautions=(_ELECTRIC,),
        outcomes=(
            OutcomeMeaning("gone", "grip is lost", 0.4),
            OutcomeMeaning("better", "partly that", 0.1),
            OutcomeMeaning("same", "it is something else", 0.4),
            OutcomeMeaning("unsure", "nothing is ruled out", 0.1),
        ),
    )  # fmt: skip
    return DiagnoseReport(
        extruder="extruder",
        config="printer.cfg",
        said=("the motor is too hot to touch", "lines come out thin"),
        ask=("clicks: does the gear jump back?",),
        causes=(resistor, dirty, loose),
        shown=(
            CauseLine(causes=(resistor,), odds=0.52),
            CauseLine(causes=(dirty, loose), odds=0.31),
        ),
        pair=("resistor", "dirty"),
        unexplained=0.1,
        only_common=True,
        rough=True,
        next_test=test,
        current=CurrentDoubt(low=1.44, high=1.81, told=True, above=True),
        fed=FedLength(asked=100.0, came=59.0, where="nozzle", pairs=("50:10 for 50:17",),
                      slips=True, rotation_distance=Band(12.98, 12.8, 13.15)),
        command=("diagnose", "printer.cfg", "--sees", "motor-hot", "--sees", "thin"),
        notes=("One case temperature gives current squared times how the motor loses its heat.",),
    )  # fmt: skip


def diagnose_first() -> DiagnoseReport:
    """A temperature that is not held: that comes first and alone."""
    first = "Heater off, let it cool. Are sensor and cartridge seated?"
    return replace(diagnose_answer(), shown=(), next_test=None, first_of_all=first)
