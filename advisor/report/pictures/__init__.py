"""Pictures for the page, drawn by matplotlib where it is installed: each is one inline ``<svg>``.

They are an extra (``feedwright[pictures]``): without it `available` is False and the page says so.
"""

from __future__ import annotations

from advisor.report.pictures.canvas import available
from advisor.report.pictures.caps import draw_caps
from advisor.report.pictures.force import draw_force
from advisor.report.pictures.heights import draw_heights
from advisor.report.pictures.torque import draw_torque
from advisor.report.pictures.weigh_compare import draw_weigh_compare
from advisor.report.pictures.weighed import draw_weighed

__all__ = ["available", "draw_caps", "draw_force", "draw_heights", "draw_torque",
           "draw_weigh_compare", "draw_weighed"]  # fmt: skip
