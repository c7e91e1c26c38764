"""What was given beside a config, read; and what of it could not be read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.base import AdvisorError, FileStatus, LeftOutTest

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet, Sheet
    from advisor.weigh import SkipTable, WeighedTable

__all__ = ["InputFiles"]


@dataclass(slots=True)
class InputFiles:
    """What was given beside a config; `errors` are sentences on what could not be read.

    `weighed` and `skips` are the tests named by hand, `kept` those of the folder; what of the
    folder was not read is in `left_out`, and no error.
    """

    sheet: Sheet | None = None
    profiles: ProfileSet | None = None
    weighed: list[WeighedTable] = field(default_factory=list)
    skips: list[SkipTable] = field(default_factory=list)
    kept: list[WeighedTable] = field(default_factory=list)
    left_out: list[LeftOutTest] = field(default_factory=list)
    files: list[FileStatus] = field(default_factory=list)
    errors: list[AdvisorError] = field(default_factory=list)
