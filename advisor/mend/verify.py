"""Compares edited files with what was intended: only those values differ, all else is the same.

It reads both texts anew and trusts nothing that made the edits.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from advisor.config import Document, read_document
from advisor.inputs import container_of, load_dialects, parse_ini, parse_json
from advisor.mend.apply import FileChange
from advisor.mend.profile_edit import text_of, value_place, value_text
from advisor.mend.target import find_setting

__all__ = ["verify_files"]

_ENDS = ("\r\n", "\n", "\r")
_Meaning = dict[tuple[bool, str, str, int], str]


def verify_files(
    first: Mapping[str, bytes], edited: Mapping[str, bytes], changes: Sequence[FileChange]
) -> None:
    """Make sure that the edited files are the first ones with these changes and no others.

    Raises
    ------
    RuntimeError
        If not; this would be a fault of ours.
    """
    if set(edited) != {change.target.real for change in changes}:
        raise RuntimeError("other files were edited than those intended")
    for real, data in edited.items():
        group = [change for change in changes if change.target.real == real]
        if group[0].target.role == "config":
            _verify_config(first[real], data, group)
        else:
            _verify_profile(first[real], data, group)


def _verify_config(before: bytes, after: bytes, changes: Sequence[FileChange]) -> None:
    name = changes[0].located.file
    old, new = read_document(before, name), read_document(after, name)
    meaning, expected = _meaning(new), _meaning(old)
    for change in changes:
        target = change.target
        expected[target.saved, target.section, target.key, target.ordinal] = change.new
    if meaning != expected:
        raise RuntimeError(f"an edit of {name} changes another setting")
    if not _same_rest(old, new, changes):
        raise RuntimeError(f"an edit of {name} changes more than the values")


def _meaning(document: Document) -> _Meaning:
    """Return all values by their place among those of the same name."""
    seen: Counter[tuple[bool, str, str]] = Counter()
    meaning: _Meaning = {}
    for section in (*document.sections, *document.saved):
        for setting in section.settings:
            key = (setting.from_saved_block, setting.section, setting.key)
            meaning[*key, seen[key]] = setting.value
            seen[key] += 1
    return meaning


def _same_rest(old: Document, new: Document, changes: Sequence[FileChange]) -> bool:
    """Whether the texts are the same without the values replaced and the lines put in.

    A line put in after a last line without an end gives that one its end.
    """
    first, second = _rest(old, changes), _rest(new, changes)
    put_in = any(change.old is None for change in changes)
    if first == second or not put_in or old.text.endswith(_ENDS):
        return first == second
    return any(first + end == second for end in _ENDS)


def _rest(document: Document, changes: Sequence[FileChange]) -> str:
    """Return the text without the values that changes are about, and without new lines."""
    cuts = []
    for change in changes:
        setting = find_setting(document, change.target)
        if setting is not None and change.old is not None:
            cuts.append((setting.places[3], setting.places[4]))
        elif setting is not None:
            cuts.append((document.starts[setting.line], document.starts[setting.line + 1]))
    return _without(document.text, cuts)


def _without(text: str, cuts: Sequence[tuple[int, int]]) -> str:
    parts, end = [], 0
    for start, stop in sorted(cuts):
        parts.append(text[end:start])
        end = stop
    return "".join([*parts, text[end:]])


def _verify_profile(before: bytes, after: bytes, changes: Sequence[FileChange]) -> None:
    name = changes[0].located.file
    old, new = (_Profile.read(data, name) for data in (before, after))
    named = {change.setting for change in changes}
    differing = {key for key, *_ in set(old.settings) ^ set(new.settings)}
    if len(old.settings) != len(new.settings) or not differing <= named:
        raise RuntimeError(f"an edit of {name} changes another setting")
    if old.rest(changes) != new.rest(changes):
        raise RuntimeError(f"an edit of {name} changes more than the values")
    for change in changes:
        if value_text(after, change.located.at, change.setting) != change.new:
            raise RuntimeError(f"an edit of {name} is not the one intended")


class _Profile:
    """A profile read anew: its text, and all its settings with their places."""

    def __init__(self, text: str, settings: list[tuple[str, str, int, int]]) -> None:
        self.text = text
        self.settings = settings

    @classmethod
    def read(cls, data: bytes, name: str) -> _Profile:
        text, _ = text_of(data)
        bare = text.removeprefix("\ufeff")
        parse = {"json": parse_json, "ini": parse_ini}[container_of(bare, name)]
        settings = [
            (setting.key, setting.text, index, setting.at.line)
            for index, section in enumerate(parse(bare, name, wanted=load_dialects().wanted_keys))
            for setting in section.settings.values()
        ]
        return cls(text, settings)

    def rest(self, changes: Sequence[FileChange]) -> str:
        cuts = [value_place(self.text, one.located.at, one.setting) for one in changes]
        return _without(self.text, [cut for cut in cuts if cut is not None])
