"""Finds the parents of a preset and joins what they state; the nearer one wins.

A parent is looked for in the same file, in the other files given, beside the file, in the folders
next to and below its own, and in the folders given. One that is not found, or of which several
different ones are, is left open and told: what it states is not known. Of one outside of the
profile's folder only the values count, and no text of it is handed on. What is left is a preset of
its own: keys of our dialects, and values that are numbers, shares or words we know, written anew.
Its names are not shown, and what it calls its own parents neither.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from advisor.base import Event, InputError, ProfileError, Span, frozen
from advisor.files import NOT_SHOWN
from advisor.inputs.profile.dialects import Dialects, Known, ProfileDialect
from advisor.inputs.profile.door import Folders, plain
from advisor.inputs.profile.presets import kinds_met, stem
from advisor.inputs.profile.records import Preset, ProfileSetting
from advisor.inputs.profile.source import ProfileSource
from advisor.inputs.profile.texts import Shape, classify, is_on

__all__ = ["Ancestry", "OpenParent", "Resolved", "place_shown", "shown_of"]

_NO_NUMBER = "not shown"  # without the brackets, in which it would be an expression
_ALL_KINDS = frozenset({"print", "filament", "printer"})
_LONGEST = 64  # parents above each other
_MOST_READ = 300  # files read in the search for a name that no file name gives
_SUFFIXES = {"json": (".json",), "ini": (".ini", ".cfg", "")}


def shown_of(preset: Preset, name: str, file: str, dialects: Dialects) -> Preset:
    """Return what may be shown of a preset outside.

    Parameters
    ----------
    preset : Preset
        The preset as it was read.
    name, file : str
        What it is called instead, and how its places name its file.
    dialects : Dialects
        The keys that are known.
    """
    dialect = dialects.choose(preset.settings, preset.sections, preset.container)
    texts = {key: _items(dialect, dialects, setting) for key, setting in preset.settings.items()}
    marks = frozenset[str]().union(*(one.sections for one in dialects.all))
    named = preset.parent_setting
    return replace(
        preset,
        name=name,
        file=file,
        settings={
            key: _setting(preset.settings[key], items, file)
            for key, items in texts.items()
            if items is not None
        },
        at=replace(preset.at, file=file),
        sections=preset.sections & marks,
        parent_setting=_setting(named, (NOT_SHOWN,), file) if named else None,
        outside=preset,
    )


def place_shown(preset: Preset, name: str, *, own: bool) -> str:
    """Return how a file outside is named: by its path only where that holds `name` and no more.

    `own` says whether the name comes from a file inside.
    """
    known = own and preset.file == preset.outer and preset.base.rpartition(".")[0] == name
    return preset.file if known else f"parent '{name}'" if own else f"parent {NOT_SHOWN}"


def _setting(setting: ProfileSetting, items: tuple[str, ...], file: str) -> ProfileSetting:
    place: Callable[[], Span] = setting.place
    return ProfileSetting(setting.key, ", ".join(items), items, lambda: replace(place(), file=file))


def _items(
    dialect: ProfileDialect, dialects: Dialects, setting: ProfileSetting
) -> tuple[str, ...] | None:
    """Return the elements as they may be shown; None for a key that states nothing we know."""
    if setting.key not in dialects.known_keys:
        return None
    of = next(one for one in (dialect, *dialects.all) if setting.key in one.spellings)
    key = of.spellings[setting.key]
    if key in of.start_keys:
        words = of.advance_words
        found = words.search(setting.text.replace("\\n", "\n")) if words else None
        return (found.group(),) if found else None
    known = of.settings[key]
    return tuple(_text(known, item, dialects.materials) for item in setting.items)


def _text(known: Known, text: str, materials: Mapping[str, object]) -> str:
    if known.type == "switch":
        on = is_on(text)
        return _NO_NUMBER if on is None else str(int(on))
    if known.type == "number":
        return _number(text)
    word = "".join(char for char in text.upper() if char not in " -_")
    return word if word in materials else NOT_SHOWN if word else ""


def _number(text: str) -> str:
    shape, number = classify(text)
    if shape in (Shape.NUMBER, Shape.PERCENT):
        return f"{number:.12g}{'%' if shape is Shape.PERCENT else ''}"
    return {Shape.NOTHING: "", Shape.OFF: "!", Shape.EXPRESSION: NOT_SHOWN}.get(shape, _NO_NUMBER)


@frozen
class OpenParent:
    """A parent that was not found: its name, the child, the child's setting that names it."""

    name: str
    child: Preset
    setting: ProfileSetting | None


@dataclass(slots=True)
class Resolved:
    """A preset with all that its parents state."""

    preset: Preset
    dialect: ProfileDialect
    settings: dict[str, ProfileSetting]
    kinds: frozenset[str]
    chain: tuple[Preset, ...] = ()  # the parents, nearest first
    open: tuple[OpenParent, ...] = ()


@dataclass(slots=True)
class _Joined:
    """What a preset and its parents state, before a dialect is chosen."""

    settings: dict[str, ProfileSetting]
    stated_kinds: frozenset[str]
    chain: tuple[Preset, ...]
    open: tuple[OpenParent, ...]
    sections: frozenset[str]


@dataclass(slots=True)
class Ancestry:
    """All presets that are known, and the search for more.

    Parameters
    ----------
    given : sequence of ProfileSource
        The files given by the caller.
    folders : sequence of str
        Folders given by the caller, to look for parents in.
    read : callable
        Reads one more file into a `ProfileSource`.
    near : Folders
        The folders of the file system.
    is_outside : callable
        Tells of a path that is found in the search whether nothing in it may be quoted.
    """

    given: Sequence[ProfileSource]
    folders: Sequence[str]
    read: Callable[[str], ProfileSource]
    near: Folders
    dialects: Dialects
    is_outside: Callable[[str], bool] = lambda path: False
    events: list[Event] = field(default_factory=list)
    sources: dict[str, ProfileSource | None] = field(default_factory=dict)
    _joined: dict[int, _Joined] = field(default_factory=dict)
    _found: dict[tuple[int, str], Preset | None] = field(default_factory=dict)
    _shown: dict[tuple[int, str], Preset] = field(default_factory=dict)

    def kinds(self, preset: Preset) -> frozenset[str]:
        """Return the kinds of profile that a preset is, by itself; empty if it does not tell."""
        if preset.kinds:
            return preset.kinds
        dialect = self.dialects.choose(preset.settings, preset.sections, preset.container)
        return kinds_met(dialect, preset.settings)

    def resolve(self, preset: Preset) -> Resolved:
        """Return the preset with what its parents state.

        Raises
        ------
        ProfileError
            If the parents go round in a circle or the chain has no end in sight.
        """
        joined = self._join(preset, ())
        dialect = self.dialects.choose(joined.settings, joined.sections, preset.container)
        kinds = joined.stated_kinds or kinds_met(dialect, joined.settings) or _ALL_KINDS
        return Resolved(preset, dialect, joined.settings, kinds, joined.chain, joined.open)

    def _join(self, preset: Preset, below: tuple[Preset, ...]) -> _Joined:
        if preset in below:
            names = " -> ".join(
                f"'{plain(p.name)}'" for p in (*below[below.index(preset) :], preset)
            )
            at = preset.parent_setting.at if preset.parent_setting else preset.at
            raise ProfileError(f"profiles inherit in a circle: {names}", "cut it in one place", at)
        if len(below) >= _LONGEST:
            problem = f"profiles inherit over more than {_LONGEST} steps"
            raise ProfileError(problem, "shorten the chain", preset.at)
        if id(preset) not in self._joined:
            self._joined[id(preset)] = self._merge(preset, (*below, preset))
        return self._joined[id(preset)]

    def _merge(self, preset: Preset, below: tuple[Preset, ...]) -> _Joined:
        settings: dict[str, ProfileSetting] = {}
        kinds, sections = frozenset[str](), preset.sections
        chain: list[Preset] = []
        left: list[OpenParent] = []
        for name in preset.parents:
            parent = self._parent(preset, name)
            if parent is None:
                left.append(OpenParent(_said(preset, name), preset, preset.parent_setting))
                continue
            above = self._join(parent, below)
            settings.update(above.settings)
            kinds, sections = kinds | above.stated_kinds, sections | above.sections
            chain += [parent, *above.chain]
            left += above.open
        settings.update(preset.settings)
        unique = tuple({id(parent): parent for parent in chain}.values())
        return _Joined(settings, preset.kinds or kinds, unique, tuple(left), sections)

    # the search

    def _parent(self, child: Preset, name: str) -> Preset | None:
        key = (id(child), name)
        if key not in self._found:
            found = next(self._candidates(child, name), None)
            self._found[key] = found and self._to_show(found, child, name)
        return self._found[key]

    def _to_show(self, preset: Preset, child: Preset, name: str) -> Preset:
        """Return a parent that was found, or what may be shown of it where it lies outside."""
        given = any(source.path == preset.outer for source in self.given)
        if given or not self.is_outside(preset.outer):
            return preset
        said = _said(child, name)
        if (id(preset), said) not in self._shown:
            file = place_shown(preset, name, own=child.outside is None)
            self._shown[id(preset), said] = shown_of(preset, said, file, self.dialects)
        return self._shown[id(preset), said]

    def _candidates(self, child: Preset, name: str) -> Iterator[Preset]:
        """Yield the parent from the nearest place that has it; nothing where that is unclear."""
        for group in self._places(child, name):
            fitting = self._fitting(group, child, name)
            if len({_content(preset) for preset in fitting}) > 1:
                self._tell_unclear(child, name, fitting)
                return
            yield from fitting[:1]

    def _places(self, child: Preset, name: str) -> Iterator[list[Preset]]:
        own = [source for source in self.given if source.path == child.outer]
        own = own or [source for path, source in self.sources.items()
                      if source is not None and path == child.outer]  # fmt: skip
        yield [preset for source in own for preset in source.presets]
        yield [preset for source in self.given if source not in own for preset in source.presets]
        ranks = list(self.near.ranks(os.path.dirname(child.outer) or ".", self.folders))
        for folders in ranks:
            yield self._named_files(folders, child, name)
        read = [_MOST_READ]
        for folders in (ranks[0], *ranks[2:]):
            yield self._all_files(folders, child, read)

    def _fitting(self, group: Sequence[Preset], child: Preset, name: str) -> list[Preset]:
        kinds, child = self.kinds(child), child.outside or child
        return [
            preset
            for preset in group
            if preset is not child
            and name in (preset.name, stem(preset.base))
            and (not kinds or not (other := self.kinds(preset)) or kinds & other)
            and not (preset.file == child.file and preset.name == child.name)
        ]

    def _named_files(self, folders: Sequence[str], child: Preset, name: str) -> list[Preset]:
        suffixes = {*_SUFFIXES[child.container], os.path.splitext(child.base)[1]}
        wanted = {name + suffix for suffix in suffixes}
        return [
            preset
            for folder in folders
            for file in self.near.names(folder)
            if file in wanted
            for preset in self._read(os.path.join(folder, file))
        ]

    def _all_files(self, folders: Sequence[str], child: Preset, read: list[int]) -> list[Preset]:
        suffixes = [suffix for suffix in _SUFFIXES[child.container] if suffix]
        presets: list[Preset] = []
        for folder in folders:
            for file in self.near.names(folder):
                if os.path.splitext(file)[1].lower() in suffixes and read[0] > 0:
                    read[0] -= 1
                    presets += self._read(os.path.join(folder, file))
        return presets

    def _read(self, path: str) -> list[Preset]:
        """Return the presets of a file found in the search; none if it is no profile."""
        path = os.path.normpath(path)
        if any(os.path.normpath(source.path) == path for source in self.given):
            return []
        if path not in self.sources:
            try:
                self.sources[path] = self.read(path)
            except InputError:
                self.sources[path] = None
        source = self.sources[path]
        return source.presets if source else []

    def _tell_unclear(self, child: Preset, name: str, fitting: Sequence[Preset]) -> None:
        at: Span = child.parent_setting.at if child.parent_setting else child.at
        shown = {self._to_show(preset, child, name).file for preset in fitting}
        files = ", ".join(sorted(shown))
        said = _said(child, name)
        fields = {"profile": child.name, "parent": said, "candidates": plain(files, 400)}
        self.events.append(Event("profile-parent-unclear", at, fields))


def _said(child: Preset, name: str) -> str:
    """Return how a parent is called: as its child calls it, if that may be shown."""
    return name if child.outside is None else NOT_SHOWN


def _content(preset: Preset) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((key, setting.text) for key, setting in preset.settings.items()))
