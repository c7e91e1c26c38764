"""Turns the sections of a profile's text into presets: names, kinds, parents.

Which sections hold named presets, and which keys name a profile and its parents, comes from
the dialects. It does not follow a parent; see `parents`.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Sequence

from advisor.base import Event, frozen
from advisor.inputs.profile.dialects import Dialects, ProfileDialect
from advisor.inputs.profile.records import Preset, ProfileSetting
from advisor.inputs.profile.texts import IniSection, elements, unquote

__all__ = [
    "ProfileText",
    "active_names",
    "join_parts",
    "kinds_met",
    "presets_of",
    "repeats_of",
    "stem",
]

_SUFFIXES = frozenset({".json", ".ini", ".cfg", ".config", ".zip"})


@frozen
class ProfileText:
    """A text that holds presets.

    ``file`` is how places name it, ``outer`` the file or archive it is in, ``base`` its own name.
    """

    container: str  # ini | json
    file: str
    outer: str
    base: str


def presets_of(
    sections: Sequence[IniSection], text: ProfileText, dialects: Dialects
) -> list[Preset]:
    """Return the presets of one text, made of the sections that its parser gave."""
    presets: list[Preset] = []
    rest: list[IniSection] = []
    for section in sections:
        named = _kind_and_name(section, dialects)
        if named is not None:
            presets.append(_preset(section, text, dialects, named=named))
        elif section.name != dialects.active_section:
            rest.append(section)
    groups = [[section] for section in rest]
    if text.container == "ini":
        groups = _groups(rest, dialects.known_keys)
    joined = (_joined(group, text, dialects) for group in groups)
    return presets + [preset for preset in joined if preset is not None]


def _kind_and_name(section: IniSection, dialects: Dialects) -> tuple[str, str] | None:
    word, colon, name = section.name.partition(":")
    kind = dialects.preset_sections.get(word.strip())
    return (kind, name.strip()) if colon and kind else None


def _groups(sections: Sequence[IniSection], known: Collection[str]) -> list[list[IniSection]]:
    """Return all sections as one profile; each alone where they state a setting differently."""
    texts: dict[str, str] = {}
    for section in sections:
        for key, setting in section.settings.items():
            if key in known and texts.setdefault(key, setting.text) != setting.text:
                return [[section] for section in sections]
    return [list(sections)]


def _joined(group: Sequence[IniSection], text: ProfileText, dialects: Dialects) -> Preset | None:
    """Return one preset of several plain sections, or None if nothing in it is known."""
    if not group:
        return None
    merged = IniSection(group[0].name if len(group) == 1 else "", group[0].at)
    for section in group:
        merged.settings.update(section.settings)
    marks = frozenset(section.name for section in group)
    preset = _preset(merged, text, dialects, marks=marks)
    return preset if preset.parents or dialects.known_keys & preset.settings.keys() else None


def _preset(
    section: IniSection,
    text: ProfileText,
    dialects: Dialects,
    *,
    named: tuple[str, str] | None = None,
    marks: frozenset[str] = frozenset(),
) -> Preset:
    settings = section.settings
    dialect = dialects.choose(settings, marks, text.container)
    base = os.path.basename(text.base)
    parents, parent_setting = _parents(dialect, settings)
    stated = _first(dialect.names, settings) or section.name or stem(base)
    name = named[1] if named else stated
    return Preset(
        name=name,
        file=text.file,
        container=text.container,
        settings=settings,
        at=section.at,
        kinds=frozenset({named[0]}) if named else _stated_kind(dialect, settings),
        named=named is not None,
        sections=marks,
        parents=parents,
        parent_setting=parent_setting,
        abstract=_abstract(dialect, settings, name, named=named is not None),
        part=_part(dialect, settings),
        outer=text.outer,
        base=base,
    )


def stem(base: str) -> str:
    """Return a file's name without the suffix of a profile; other dots belong to the name."""
    name, suffix = os.path.splitext(base)
    return name if suffix.lower() in _SUFFIXES else base


def _first(keys: Iterable[str], settings: dict[str, ProfileSetting]) -> str:
    """Return the text of the first of `keys` that says something."""
    texts = (unquote(settings[key].text) for key in keys if key in settings)
    return next((text for text in texts if text), "")


def _parents(
    dialect: ProfileDialect, settings: dict[str, ProfileSetting]
) -> tuple[tuple[str, ...], ProfileSetting | None]:
    for key in dialect.parents:
        setting = settings.get(key)
        if setting is not None:
            parts = [part for item in _names(setting) if (part := unquote(item))]
            if parts:
                return tuple(dict.fromkeys(parts)), setting
    return (), None


def _names(setting: ProfileSetting) -> list[str]:
    """Return the names in a setting: joined by ';' only, for a name may hold a comma."""
    text = setting.text
    if '"' in text:
        return list(elements(text))
    return text.split(";")


def _stated_kind(dialect: ProfileDialect, settings: dict[str, ProfileSetting]) -> frozenset[str]:
    if dialect.kind and dialect.kind["key"] in settings:
        word = settings[dialect.kind["key"]].text.strip().lower()
        kind = dialect.kind["words"].get(word)
        if kind:
            return frozenset({str(kind)})
    return frozenset()


def kinds_met(dialect: ProfileDialect, keys: Iterable[str]) -> frozenset[str]:
    """Return the kinds of profile that `keys` belong to."""
    spellings = dialect.spellings
    return frozenset(dialect.settings[spellings[key]].of for key in keys if key in spellings)


def _abstract(
    dialect: ProfileDialect, settings: dict[str, ProfileSetting], name: str, *, named: bool
) -> bool:
    if named:
        return len(name) > 1 and name[0] == name[-1] == "*"
    spec = dialect.abstract
    if spec is None or spec["key"] not in settings:
        return False
    return settings[spec["key"]].text.strip().lower() in spec["words"]


def _part(dialect: ProfileDialect, settings: dict[str, ProfileSetting]) -> int | None:
    text = settings[dialect.part].text if dialect.part and dialect.part in settings else ""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None


def join_parts(presets: list[Preset], tool: int) -> list[Preset]:
    """Return the presets with the parts of one profile joined: the common one and the tool's."""
    parted = {preset.name for preset in presets if preset.part is not None}
    whole = [preset for preset in presets if preset.name not in parted]
    groups: dict[str, list[Preset]] = {name: [] for name in sorted(parted)}
    for preset in presets:
        if preset.name in parted:
            groups[preset.name].append(preset)
    for alike in groups.values():
        parts = sorted({preset.part for preset in alike if preset.part is not None})
        part = tool if tool in parts else parts[0]
        group = [preset for preset in alike if preset.part in (None, part)]
        group.sort(key=lambda preset: preset.part is not None)
        first = group[0]
        for other in group[1:]:
            first.settings.update(other.settings)
        whole.append(first)
    return whole


def repeats_of(sections: Iterable[IniSection], known: Collection[str]) -> list[Event]:
    """Return an event for each known setting that a section states twice and differently."""
    return [
        Event(
            "profile-value-twice",
            later.at,
            {
                "setting": later.key,
                "first": first.text,
                "second": later.text,
                "line": str(first.at.line),
            },
        )
        for section in sections
        for first, later in section.repeats
        if later.key in known
    ]


def active_names(sections: Iterable[IniSection], dialects: Dialects) -> tuple[str, ...]:
    """Return the names of the presets that a bundle marks as active."""
    for section in sections:
        if section.name == dialects.active_section:
            words = [word for word in dialects.preset_sections if word in section.settings]
            return tuple(unquote(section.settings[word].text) for word in words)
    return ()
