"""How the program is run in these tests, and how a run ended."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

__all__ = ["Run", "Runner"]


class Run(NamedTuple):
    """How a run ended, and what it wrote."""

    code: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """All that it wrote."""
        return self.out + self.err


Runner = Callable[..., Run]
