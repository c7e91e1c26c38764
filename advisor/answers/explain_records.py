"""What `explain` answers, as frozen records; they compute nothing."""

from __future__ import annotations

from typing import TypedDict

from advisor.base import (
    Figure,
    Finding,
    Span,
    frozen,
)

__all__ = ["CatalogueFigure", "Derivation", "Explanation"]


@frozen
class Derivation:
    """One step of a fact's chain: the fact, what it was made from, in what words."""

    fact: Figure
    title: str
    formula: str | None
    depth: int
    repeated: bool = False  # shown in full further up


class CatalogueFigure(TypedDict):
    """A number of the catalogue in its trade unit, with its spread and where it is from."""

    fact: str
    low: float
    typical: float
    high: float
    unit: str
    source: str
    status: str


@frozen
class Explanation:
    """Answer of `explain`: what a name means; with a config, how its value came about."""

    kind: str  # rule | fact | setting | word | names | material | motor | hotend | driver ...
    name: str
    title: str
    lines: tuple[tuple[str, str], ...]  # (label, text): "Why", "Fix", "When", "Source" ...
    numbers: tuple[CatalogueFigure, ...] = ()
    extruder: str | None = None
    derivation: tuple[Derivation, ...] = ()
    at: Span | None = None
    findings: tuple[Finding, ...] = ()
    spoken: tuple[tuple[str, str], ...] = ()  # `lines` for people, where they differ
