"""Says first of all which hardware sheet was not used, as every figure below is without it."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.base import FileStatus
from advisor.report.page import Page

__all__ = ["write_unused"]


def write_unused(page: Page, files: Iterable[FileStatus]) -> None:
    """Write a line for each sheet that could not be used, and why; nothing where all were.

    Parameters
    ----------
    page : Page
        A page with nothing on it yet.
    files : iterable of FileStatus
        The files of the answer.
    """
    for file in files:
        if file.role == "sheet" and file.status != "read":
            first, *more = (file.reason or "it could not be read").splitlines()
            rest = f" (and {len(more)} more)" if more else ""
            page.indented(f"{file.path} was not used: {first}{rest}", 0, style="error")
