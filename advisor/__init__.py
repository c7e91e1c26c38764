"""Feedwright: tells from a 3D printer's config whether its extruder can do what it is asked.

The library in three calls; each returns frozen records and prints nothing::

    from advisor import Asks, check, derate
    report = check(["printer.cfg"], Asks(sheet="hardware.yaml", asked="24 mm3/s"))
    report.extruders[0].bottleneck, report.findings
    derate("1.0 A").set_current
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.asks import Asks
    from advisor.errors import AdvisorError
    from advisor.lint.check import check
    from advisor.lint.derate import derate
    from advisor.lint.explain import explain
    from advisor.model import Fact, Finding, Level, Report
    from advisor.records import DerateReport, Explanation

__all__ = [
    "AdvisorError",
    "Asks",
    "DerateReport",
    "Explanation",
    "Fact",
    "Finding",
    "Level",
    "Report",
    "check",
    "derate",
    "explain",
]

__version__ = "0.1.0"

_HOMES = {
    "AdvisorError": "advisor.errors",
    "Asks": "advisor.asks",
    "DerateReport": "advisor.records",
    "Explanation": "advisor.records",
    "Fact": "advisor.model",
    "Finding": "advisor.model",
    "Level": "advisor.model",
    "Report": "advisor.model",
    "check": "advisor.lint.check",
    "derate": "advisor.lint.derate",
    "explain": "advisor.lint.explain",
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for, so that a command starts fast."""
    if name not in _HOMES:
        raise AttributeError(f"module 'advisor' has no attribute '{name}'")
    import importlib

    return getattr(importlib.import_module(_HOMES[name]), name)
