"""The largest value of something while a print goes by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.prints.moves import Floats
from advisor.prints.records import Peak

__all__ = ["Highest"]


class Highest:
    """The largest value so far and its line."""

    def __init__(self) -> None:
        self.peak = Peak(0.0, 0)

    def add(self, value: Floats, line: NDArray[np.int64]) -> None:
        """Take in values; the first of equals counts."""
        if not len(value):
            return
        at = int(np.argmax(value))
        if value[at] > self.peak.value:
            self.peak = Peak(float(value[at]), int(line[at]))
