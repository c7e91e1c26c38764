"""Tells the dated copies of a config in its folder from the config itself, by their names."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence

__all__ = ["without_copies"]

_DAY, _TIME = r"(?:19|20)\d\d-?[01]\d-?[0-3]\d", r"[-_T ]?\d\d[-:]?\d\d(?:[-:]?\d\d)?"
_DATED = re.compile(rf"(?P<stem>.+?)[-_. ](?P<date>{_DAY}(?:{_TIME})?)")


def without_copies(paths: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return the configs of a folder, and the dated copies of them that are left out.

    ``printer-20260131_204500.cfg`` is a copy of ``printer.cfg``; where that is not there the
    newest copy stands for the machine.

    Parameters
    ----------
    paths : sequence of str
        Configs of one folder.
    """
    dated = {path: found for path in paths if (found := _dated(path)) is not None}
    plain = {os.path.splitext(path)[0] for path in paths if path not in dated}
    newest: dict[str, str] = {}
    for path, (stem, date) in dated.items():
        if stem not in newest or date > dated[newest[stem]][1]:
            newest[stem] = path
    copies = [p for p, (stem, _) in dated.items() if stem in plain or newest[stem] != p]
    return [path for path in paths if path not in copies], copies


def _dated(path: str) -> tuple[str, str] | None:
    """Return the path without ending and date, and the date's digits; None where there is none."""
    folder, name = os.path.split(os.path.splitext(path)[0])
    found = _DATED.fullmatch(name)
    if found is None:
        return None
    return os.path.join(folder, found["stem"]), re.sub(r"\D", "", found["date"])
