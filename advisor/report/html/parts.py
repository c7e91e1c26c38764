"""What a page is made of, as frozen records; the command gathers them, the page only shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from advisor.answers import DemandReport, ForceReport, GripReport, MendReport, TorqueReport
from advisor.base import ExtruderReport, Report, frozen
from advisor.weigh import Evaluation

if TYPE_CHECKING:
    from advisor.catalog import FactInfo, Source

__all__ = ["ConfigPart", "ExtruderPart", "MendPart", "PageParts"]


@frozen(kw_only=True)
class ExtruderPart:
    """One extruder: its report, and what was worked out beside it; None where not asked for."""

    report: ExtruderReport
    force: ForceReport | None = None
    torque: TorqueReport | None = None
    grip: GripReport | None = None
    demand: DemandReport | None = None
    no_demand: str | None = None  # why a print that was given is not looked at
    tests: tuple[Evaluation, ...] = ()


@frozen(kw_only=True)
class MendPart:
    """The edits, or in a sentence why there are none; the command that makes them."""

    report: MendReport | None = None
    why_not: str | None = None
    command: str = ""


@frozen(kw_only=True)
class ConfigPart:
    """One config with its extruders."""

    config: str  # as the user gave it
    report: Report
    extruders: tuple[ExtruderPart, ...] = ()
    mend: MendPart = field(default_factory=MendPart)


@frozen(kw_only=True)
class PageParts:
    """All that a page shows.

    ``given`` are the options of the command line as (words, value), ``command`` is the whole of
    it as it can be typed again.
    """

    configs: tuple[ConfigPart, ...]
    whole: Report  # of all configs
    given: tuple[tuple[str, str], ...] = ()
    command: str = ""
    version: str = ""
    sources: Mapping[str, Source] = field(default_factory=dict)
    facts: Mapping[str, FactInfo] = field(default_factory=dict)
