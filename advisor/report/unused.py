"""Says first of all which sheet or profile was not used: every figure below is without it."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.base import FileStatus
from advisor.report.page import Page

__all__ = ["write_unused"]

_COUNTED = frozenset({"sheet", "profile"})


def write_unused(page: Page, files: Iterable[FileStatus]) -> None:
    """Write a line for each sheet or profile that was not used, and why; else nothing.

    Parameters
    ----------
    page : Page
        A page with nothing on it yet.
    files : iterable of FileStatus
        The files of the answer.
    """
    for file in files:
        if file.role in _COUNTED and file.status != "read":
            page.indented(file.not_used_briefly, 0, style="error")
