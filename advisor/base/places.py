"""A place in a file, as every message and every record of an origin names it."""

from __future__ import annotations

from advisor.base.record import frozen

__all__ = ["Span"]


@frozen
class Span:
    """A place in a file; lines and columns count from 1, `end_column` is one past the end."""

    file: str
    line: int
    column: int = 1
    end_column: int | None = None

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"
