"""Answers to put behind the commands, and the record of a run."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from advisor.answers.derate_records import DerateReport
from advisor.answers.machine_records import Explanation
from advisor.base import Band, FileStatus, Finding, Level, Report, Span


@dataclass(frozen=True)
class Run:
    """What one run of the program did."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


Runner = Callable[..., Run]


def report(*levels: Level, status: str = "read", errors: tuple[str, ...] = ()) -> Report:
    """A report with one finding of each given level."""
    at = Span("printer.cfg", 7, 3, 8)
    findings = tuple(Finding("some-rule", level, "motor", f"a {level}", at=at) for level in levels)
    return Report((FileStatus("printer.cfg", status),), (), findings, errors)


def derating() -> DerateReport:
    """The smallest answer of derate."""
    ampere = Band(0.566, 0.566, 0.566)
    return DerateReport(
        rating=1.0, basis="unsure", share=0.8, rated_current_rms=ampere, derated_current=ampere,
        set_current=0.56, no_setting=None, applied_current=None, winding_temperature=None,
        case_temperature=None, limits={"share": ampere}, governed_by="share", cautious=ampere,
        thermal=ampere, peak_amplitude=0.79, ambient=Band(25.0, 25.0, 25.0), mount=None,
        driver=None, sense_resistor=None, full_scale_current=None, assumptions=(), cautions=(),
    )  # fmt: skip


EXPLANATION = Explanation("fact", "flow.torque", "flow the motor carries", (("Unit", "mm3/s"),))
