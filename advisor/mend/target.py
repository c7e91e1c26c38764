"""Finds the one place a fix is about, and says in words why it counts there; it edits nothing."""

from __future__ import annotations

import itertools
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.base import Fix, Span
from advisor.config import Document, Section, Setting, Tree
from advisor.data import parse_number
from advisor.inputs import Key, load_dialect
from advisor.mend.overlay import Snapshot, real_path
from advisor.mend.profile_edit import value_text, why_not_editable

__all__ = ["Located", "NoPlaceError", "Target", "find_setting", "key_of", "locate"]


@dataclass(frozen=True, slots=True)
class Target:
    """A setting of a file, the same before and after any edit of other settings.

    ``ordinal`` tells values of one key apart, from 0; in a profile it is the line, from 1.
    """

    real: str  # the file's real path
    role: str  # config | profile
    section: str
    key: str
    ordinal: int
    saved: bool = False


@dataclass(frozen=True, slots=True)
class Located:
    """A target with the file's name to show, the key's unit, and words on the place."""

    target: Target
    file: str
    at: Span
    unit: str | None
    old: str | None  # the characters to be replaced; None for a new line
    words: tuple[str, ...] = ()


_OUTSIDE = (
    "it stands outside of the config's folder, where nothing is edited; set it there, or lift that "
    "with --allow-outside FOLDER"
)


class NoPlaceError(Exception):
    """There is no place where this fix could be made; the sentence says why."""


def locate(fix: Fix, tree: Tree, profiles: Sequence[str], files: Snapshot) -> Located:
    """Return where a fix is to be made.

    Parameters
    ----------
    fix : Fix
        The change.
    tree : Tree
        The config it was found in.
    profiles : sequence of str
        The slicer profiles that were named by the user; parents of them are not edited.
    files : Snapshot
        What stands in the files.

    Raises
    ------
    NoPlaceError
        With the reason, in words to a person.
    """
    if fix.at is None:
        raise NoPlaceError("it stands in no file that was read")
    for document in tree.documents:
        if document.path == fix.at.file:
            if document.outside:
                raise NoPlaceError(_OUTSIDE)
            return _in_config(fix, fix.at, document, tree)
    return _in_profile(fix, fix.at, profiles, files)


def _in_config(fix: Fix, at: Span, document: Document, tree: Tree) -> Located:
    if fix.old is None:
        return _new_line(fix, at, document, tree)
    for setting in _all_settings(document):
        if setting.value_span == at and setting.last_line == setting.line:
            return _existing(setting, tree)
    raise NoPlaceError("its value could not be found again as one text on one line")


def _existing(setting: Setting, tree: Tree) -> Located:
    document = setting.document
    same = [one for one in _all_settings(document) if _alike(one, setting)]
    target = Target(
        real=real_path(document.path),
        role="config",
        section=setting.section,
        key=setting.key,
        ordinal=same.index(setting),
        saved=setting.from_saved_block,
    )
    key = key_of(setting.section, setting.key)
    unit = key.unit if key else None
    words = (*_words(setting, tree), *_words_on_file(document, tree))
    old = _number(setting.first_value)
    return Located(target, document.path, setting.value_span, unit, old, words)


def _number(text: str) -> str:
    """Return the text of a number, or refuse to replace what is none."""
    if parse_number(text) is None:
        raise NoPlaceError(f"'{text}' is no plain number; it is left as it is")
    return text


def _alike(one: Setting, other: Setting) -> bool:
    first = (one.section, one.key, one.from_saved_block)
    return first == (other.section, other.key, other.from_saved_block)


def _new_line(fix: Fix, at: Span, document: Document, tree: Tree) -> Located:
    """Return the place of a new line: only in a section of which we know that it has this key."""
    section = next((one for one in document.sections if one.header == at), None)
    if section is None:
        raise NoPlaceError("the section it belongs to is not there as a live one")
    key = key_of(section.name, fix.setting)
    if key is None:
        raise NoPlaceError(f"the section it belongs to is not there; [{section.name}] is another")
    if tree.find(section.name, fix.setting) is not None:
        raise NoPlaceError("it is stated, but its value cannot be read; it is left as it is")
    target = Target(real_path(document.path), "config", section.name, key.name, 0)
    words = (f"a new line in [{section.name}]", *_words_on_file(document, tree))
    return Located(target, document.path, at, key.unit, None, words)


def key_of(section: str, name: str) -> Key | None:
    """Return what the dialect knows of a key in a section of this name, or None."""
    plain = " ".join(section.split())
    for role in load_dialect().roles.values():
        if role.match(plain) and name.lower() in role.keys:
            return role.keys[name.lower()]
    return None


def find_setting(document: Document, target: Target) -> Setting | None:
    """Return the setting of a document that a target names, or None where it is to be new."""
    found = [
        setting
        for setting in _all_settings(document)
        if setting.section == target.section
        and setting.key == target.key
        and setting.from_saved_block == target.saved
    ]
    return found[target.ordinal] if target.ordinal < len(found) else None


def _all_settings(document: Document) -> Iterator[Setting]:
    sections: Iterator[Section] = itertools.chain(document.sections, document.saved)
    return itertools.chain.from_iterable(section.settings for section in sections)


def _words(setting: Setting, tree: Tree) -> Iterator[str]:
    """Yield why the value counts here: it comes last, or it stands in the saved block."""
    others = [one for one in tree.all(setting.section, setting.key) if one is not setting]
    if others:
        places = ", ".join(f"{one.file}:{one.line + 1}" for one in others[-3:])
        more = len(others) + 1
        yield f"the last of {more} values, the one that counts; the others stay ({places})"
    if setting.from_saved_block:
        yield (
            "in the saved block: restart the firmware before it saves again, or it writes the old "
            "value back"
        )


def _words_on_file(document: Document, tree: Tree) -> Iterator[str]:
    if document is not tree.root:
        yield f"in an included file, read by {tree.root.path}"
    if tree.missing_includes:
        names = ", ".join(dict.fromkeys(one.target for one in tree.missing_includes))
        yield f"an include is missing ({names}); a value in there could still win"


def _in_profile(fix: Fix, at: Span, profiles: Sequence[str], files: Snapshot) -> Located:
    real = real_path(at.file)
    if real not in {real_path(path) for path in profiles}:
        raise NoPlaceError(_foreign(at.file, profiles))
    reason = why_not_editable(at.file, at, fix.setting, files)
    if reason is not None:
        raise NoPlaceError(reason)
    old = _number(value_text(files.edited.get(real, files.first[real]), at, fix.setting))
    target = Target(real, "profile", "", fix.setting, at.line)
    words = ("close the slicer first, or it writes it back",)
    return Located(target, at.file, at, None, old, words)


def _foreign(file: str, profiles: Sequence[str]) -> str:
    """Say why a file that was read is not edited: a member of an archive, or a parent."""
    archive = next((path for path in profiles if file.startswith(f"{path}!")), None)
    if archive is not None:
        return f"archives are not written ({os.path.basename(archive)}); enter it in the slicer"
    name = os.path.basename(file)
    return f"it stands in a parent ({name}), which others share; enter it in your own profile"
