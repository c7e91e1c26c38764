"""What `flow` and `explain` answer of one machine, as frozen records; they compute nothing."""

from __future__ import annotations

from typing import TypedDict

from advisor.base import (
    Band,
    Case,
    Figure,
    FileStatus,
    Finding,
    LeverGain,
    NextStep,
    Span,
    Weighed,
    frozen,
)

__all__ = ["CatalogueFigure", "Derivation", "Explanation", "FeatureAsk", "FlowReport"]


@frozen
class FeatureAsk:
    """What one feature of a print asks: its flow in mm3/s, and the speed that would fit."""

    name: str
    title: str
    speed: float  # mm/s
    width: float | None  # mm; None where the slicer chooses it
    height: float | None  # mm
    flow: float | None  # mm3/s; None where width or height is open
    sure: float | None  # share of likely machines in which it is above capacity
    speed_that_fits: float | None  # mm/s at the nominal capacity; None where it fits already
    at: Span | None = None


@frozen
class FlowReport:
    """Answer of `flow`: does what is asked exceed what the extruder delivers, in mm3/s."""

    extruder: str | None
    asked: Band | None  # None where nothing is asked, or it cannot be known
    asked_by: str | None  # in words: what asks it
    asked_at: Span | None
    capacity: Band | None
    exceeds: bool | None
    sure: float | None  # share of likely machines in which it exceeds
    bottleneck: str | None
    set_to: float | None  # the largest flow to set, mm3/s; never 0
    setting: str | None  # the profile's key to set, where it has one
    features: tuple[FeatureAsk, ...] = ()
    lacking: tuple[str, ...] = ()  # sentences: what is not known and why
    findings: tuple[Finding, ...] = ()  # of the slicer stage
    assumed: tuple[str, ...] = ()  # titles of what nobody stated
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    weighed: Weighed | None = None
    no_set_to: str | None = None  # why there is no flow to set, where the capacity is known
    cases: tuple[Case, ...] = ()  # where one unknown of a few classes decides
    next: NextStep | None = None  # what would narrow the capacity most
    draws: int | None = None  # likely machines behind the bands; None: as many as usual
    gains: tuple[LeverGain, ...] = ()  # what would help, the largest first
    material: str | None = None  # what the figures are for
    temperature: float | None = None  # degC, of the nozzle
    nozzle: float | None = None  # mm, its bore


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
