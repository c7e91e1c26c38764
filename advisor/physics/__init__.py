"""The physics of an extruder: pure functions over SI floats and numpy arrays.

Modules: ``drive`` (gears, forces, lag), ``motor`` (pull-out torque), ``current`` (what a driver
really applies), ``heat`` (winding and case), ``grip`` (gears on filament, buckling), ``melt``
(heat into the core, feed force), ``limits`` (the flow at which a force is reached), ``motion``
(beads, junctions, steps), ``weighing`` (weighed flow tests).

Conventions that hold for every function:

* SI throughout: m, s, N, Pa, A, W, and kelvin for absolute temperatures. The unit of each
  parameter stands in square brackets in its docstring, ``[-]`` for a pure number.
* A docstring has one order: what; parameters, each with the range in which the function holds and
  its unit; returns; raises; notes; references; an example, which is run as a test.
* Arguments broadcast against each other as numpy arrays do; scalars in give a scalar out.
* No number that a source could change is built in: model constants are keyword arguments.
* Lengths, ratios and efficiencies must be above zero: that is checked where they are read, not
  here. Limits that occur in practice (no flow, no voltage, a wall too cold to melt, a motor
  without inductance) give a plain answer without nan and without warnings.

It reads no files, knows no setting names and gives no verdicts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.physics.drive import (
        filament_area as filament_area,
    )
    from advisor.physics.motion import (
        junction_deviation as junction_deviation,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "": "current drive grip heat limits melt motion motor weighing",
            "drive": "filament_area",
            "motion": "junction_deviation",
        },
    )
