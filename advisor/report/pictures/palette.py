"""The colours of page and pictures, for light and for dark: the one place where they stand.

Every colour has a contrast of at least 4.5 : 1 on the paper, and any two of the drawn ones can be
told apart by people who see no red or no green. No two lines differ by colour alone.
"""

from __future__ import annotations

from collections.abc import Mapping

__all__ = ["PALETTE"]

PALETTE: Mapping[str, Mapping[str, str]] = {
    "light": {
        "ink": "#1d2327",
        "paper": "#fbf9f4",
        "quiet": "#59616a",
        "motor": "#2a6f92",
        "grip": "#833800",
        "gap": "#68429d",
        "melt": "#701c1a",
        "heater": "#a95f02",
        "need": "#2b6a43",
        "ask": "#a3006d",
    },
    "dark": {
        "ink": "#ece8e0",
        "paper": "#15191c",
        "quiet": "#a6aeb6",
        "motor": "#4caac4",
        "grip": "#e8b161",
        "gap": "#cb93ff",
        "melt": "#ff8286",
        "heater": "#c2d529",
        "need": "#a5e4ff",
        "ask": "#f14a9e",
    },
}
