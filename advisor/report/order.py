"""The orders in which findings are told: by place for machines, by stage, by what they cost."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.base import Finding
from advisor.report.words import stage_rank

__all__ = ["by_cost", "by_place", "by_stage"]

_GROUND = "gears"
_Place = tuple[str, int, int, str, str, str]


def by_place(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings by file, line, column, rule and extruder."""
    return sorted(findings, key=_place)


def by_stage(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings by stage, the graver first, then by place."""
    return sorted(findings, key=lambda x: (stage_rank(x.stage), x.stage, -x.level.rank, _place(x)))


def by_cost(findings: Iterable[Finding], first: str | None = None) -> list[Finding]:
    """Return errors, then warnings, then notes; in a level the gearing, `first`, then by stage.

    With a wrong gearing no other figure is right.
    """
    return sorted(findings, key=lambda x: (-x.level.rank, x.stage != _GROUND, x.stage != first,
                                           stage_rank(x.stage), x.stage, _place(x)))  # fmt: skip


def _place(finding: Finding) -> _Place:
    at = finding.at
    file, line, column = (at.file, at.line, at.column) if at else ("", 0, 0)
    return file, line, column, finding.rule, finding.extruder or "", finding.message
