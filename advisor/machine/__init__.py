"""The facts of one extruder over one ensemble, and the same machine with something changed.

It is the one place that builds facts; everything that asks "the same machine, but ..." asks it.
"""

from __future__ import annotations

from advisor.machine.machine import Change, Machine, machine_of
from advisor.machine.sweep import LATE, each, swept

__all__ = ["LATE", "Change", "Machine", "each", "machine_of", "swept"]
