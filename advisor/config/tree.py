"""A config with all its includes read in place: what is in effect, and what it replaced.

The rules are the firmware's: the order of reading decides and the last value wins; a live
value beats one of the saved block. It opens no file and reads no value.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from advisor.base import EVENTS_PER_FILE, Event, FileStatus, Span, frozen
from advisor.config.document import Document, Section, Setting
from advisor.data import parse_number

__all__ = ["MissingInclude", "Tree"]

_SHOWN = 80


@frozen
class MissingInclude:
    """An include that could not be followed: what it asks for, where, and why not."""

    target: str
    at: Span
    reason: str  # the kind of its event


@dataclass(slots=True, eq=False, repr=False)
class Tree:
    """A root document and what it includes. ``read_tree`` makes it.

    ``documents`` begins with the root; ``live`` are all live sections in reading order;
    ``files`` tells how each file fared.
    """

    documents: tuple[Document, ...]
    live: tuple[Section, ...]
    files: tuple[FileStatus, ...] = ()
    missing_includes: tuple[MissingInclude, ...] = ()
    events: tuple[Event, ...] = ()
    _sections: dict[str, list[Section]] = field(init=False, default_factory=dict)
    _settings: dict[str, dict[str, list[Setting]]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        for section in (*self.saved, *self.live):
            keys = self._settings.setdefault(section.name, {})
            for setting in section.settings:
                keys.setdefault(setting.key, []).append(setting)
        for section in (*self.live, *self.saved):
            self._sections.setdefault(section.name, []).append(section)

    @property
    def root(self) -> Document:
        """The document that was asked for."""
        return self.documents[0]

    @property
    def saved(self) -> tuple[Section, ...]:
        """The sections of the saved block; only the root's counts."""
        return self.root.saved

    @property
    def incomplete(self) -> bool:
        """Whether settings may stand in something that could not be read."""
        return bool(self.missing_includes) or not all(doc.complete for doc in self.documents)

    @property
    def section_names(self) -> tuple[str, ...]:
        """The names of all sections, in the order of their first header, live ones first."""
        return tuple(self._sections)

    def sections(self, name: str) -> tuple[Section, ...]:
        """Return all blocks of a section in reading order, those of the saved block last."""
        return tuple(self._sections.get(name, ()))

    def header(self, name: str) -> Span | None:
        """Return the place of a section's first header."""
        found = self._sections.get(name)
        return found[0].header if found else None

    def keys(self, section: str) -> tuple[str, ...]:
        """Return the keys of a section that have a value in effect."""
        return tuple(self._settings.get(section, ()))

    def all(self, section: str, key: str) -> tuple[Setting, ...]:
        """Return every occurrence of a key; the last is in effect, saved ones come first."""
        return tuple(self._settings.get(section, {}).get(key.lower(), ()))

    def find(self, section: str, key: str) -> Setting | None:
        """Return the setting that is in effect, or None."""
        found = self._settings.get(section, {}).get(key.lower())
        return found[-1] if found else None

    def duplicates(
        self, section: str | None = None, keys: Collection[str] | None = None
    ) -> Iterator[Event]:
        """Yield an event for each value that a later, different one replaced.

        Of a key that is given over and over again the last ones are told, the others counted.

        Parameters
        ----------
        section : str, optional
            Its name as it is written; all sections where not given.
        keys : collection of str, optional
            The keys to look at; all where not given.
        """
        names = self._settings if section is None else (section,)
        for name in names:
            for key, settings in self._settings.get(name, {}).items():
                if keys is None or key in keys:
                    yield from _replaced(settings)


def _replaced(settings: list[Setting]) -> Iterator[Event]:
    last = settings[-EVENTS_PER_FILE - 1 :]
    if len(settings) > len(last):
        fields = {"count": str(len(settings) - len(last))}
        yield Event("events-left-out", settings[1].value_span, fields)
    for first, setting in itertools.pairwise(last):
        if not _same(first, setting):
            yield _duplicate(first, setting)


def _same(first: Setting, second: Setting) -> bool:
    if first.value == second.value:
        return True
    number = parse_number(first.value)
    return number is not None and number == parse_number(second.value)


def _duplicate(first: Setting, setting: Setting) -> Event:
    kind = "duplicate-setting"
    if first.from_saved_block and not setting.from_saved_block:
        kind = "saved-setting-unused"
    at = first.value_span
    fields = {
        "section": setting.section,
        "key": setting.key,
        "first_line": str(at.line),
        "first_file": first.file,
        "first_value": first.value[:_SHOWN],
        "value": setting.value[:_SHOWN],
    }
    return Event(kind, setting.value_span, fields)
