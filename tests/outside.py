"""General libraries that tests of several folders are held against, made once and when needed."""

from __future__ import annotations

import functools
from typing import Any


@functools.cache
def units() -> Any:
    """Return pint's table of units: to read it takes longer than a file of tests."""
    import pint

    return pint.UnitRegistry()
