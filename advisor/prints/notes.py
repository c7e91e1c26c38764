"""Counts what the reader could not take as it stands; the sentences are data of the dialect."""

from __future__ import annotations

from advisor.prints.dialect import PrintDialect
from advisor.prints.records import Note

__all__ = ["Notes"]

_SAMPLE = 60  # characters of the first such line that are kept


class Notes:
    """Counters by kind, each with the first line it was met in."""

    def __init__(self) -> None:
        self._seen: dict[str, list[int]] = {}
        self._texts: dict[str, str] = {}

    def add(self, kind: str, line: int, text: bytes | str = b"", count: int = 1) -> None:
        """Count `kind`; the first line and its text are kept."""
        if kind in self._seen:
            self._seen[kind][0] += count
            return
        self._seen[kind] = [count, line]
        plain = text if isinstance(text, str) else text[: 2 * _SAMPLE].decode("utf-8", "replace")
        shown = "".join(c if c.isprintable() else "?" for c in plain.strip()[:_SAMPLE])
        self._texts[kind] = shown

    def count(self, kind: str) -> int:
        """Return how often `kind` was counted."""
        return self._seen.get(kind, [0, 0])[0]

    def records(self, dialect: PrintDialect) -> tuple[Note, ...]:
        """Return the notes in the order of the dialect's list."""
        records = []
        for kind, sentence in dialect.notes.items():
            if kind in self._seen:
                count, line = self._seen[kind]
                records.append(Note(kind, sentence, count, line, self._texts[kind]))
        return tuple(records)
