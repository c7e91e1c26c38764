"""Says in which folders below one the configs are: a folder itself is not searched deeper."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from shlex import quote

from advisor.files import files_and_folders

__all__ = ["where_configs_are"]

_DEEPEST, _MOST_FOLDERS, _MOST_CONFIGS = 4, 1000, 60
_SHOWN = 3


def where_configs_are(
    folder: str, endings: tuple[str, ...], roots_of: Callable[[Sequence[str]], list[str]]
) -> str | None:
    """Return what to type instead, or None where no config is found below.

    Parameters
    ----------
    folder : str
        A folder without a config of its own.
    endings : tuple of str
        How the names of configs end.
    roots_of : callable
        Returns those of some configs that no other includes.

    Notes
    -----
    Hidden folders, links, and what lies deeper than four folders are left out; a very large tree
    is not searched to its end.
    """
    found = []
    for path in _configs(folder, endings):
        found.append(path)
        if len(found) == _MOST_CONFIGS:
            break
    folders = list(dict.fromkeys(os.path.dirname(path) for path in roots_of(found)))
    if not folders:
        return None
    shown = [quote(path) for path in folders[:_SHOWN]]
    if len(folders) == 1:
        return f"there is one below it: name {shown[0]}"
    more = f" or {len(folders) - _SHOWN} more" if len(folders) > _SHOWN else ""
    return f"there are some below it: name {', '.join(shown)}{more}"


def _configs(folder: str, endings: tuple[str, ...]) -> Iterator[str]:
    """Yield the configs below a folder, nearer ones first."""
    level = [folder]
    seen = 0
    for _ in range(_DEEPEST + 1):
        below: list[str] = []
        for path in level:
            seen += 1
            if seen > _MOST_FOLDERS:
                return
            files, folders = files_and_folders(path)
            yield from (file for file in files if file.lower().endswith(endings))
            below += folders
        level = below
