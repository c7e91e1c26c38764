"""Says which configs a name on the command line stands for: a file, or the machines of a folder.

A folder stands for the configs in it that no other one includes, without their dated copies, which
are told by their names. It is not searched deeper; where it holds none, what lies below is named.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Sequence
from shlex import quote

from advisor.answers.asks import OneOrMore, texts_of
from advisor.base import UnreadableError, UsageError
from advisor.config import read_tree
from advisor.files import files_and_folders, names_in, reach_of, unreadable
from advisor.inputs import Outside

__all__ = ["copies_in", "expand", "without_copies"]

_CONFIG_ENDINGS = (".cfg", ".conf")
_DEEPEST, _MOST_FOLDERS, _MOST_CONFIGS = 4, 1000, 60
_SHOWN = 3
_DAY, _TIME = r"(?:19|20)\d\d-?[01]\d-?[0-3]\d", r"[-_T ]?\d\d[-:]?\d\d(?:[-:]?\d\d)?"
_DATED = re.compile(rf"(?P<stem>.+?)[-_. ](?P<date>{_DAY}(?:{_TIME})?)")


def expand(paths: OneOrMore) -> list[str]:
    """Return the root configs: a folder stands for those in it that no other one includes.

    Dated copies in a folder are left out (`copies_in`). One path alone is a list of one.

    Raises
    ------
    UsageError
        For a folder without a config.
    """
    roots: list[str] = []
    for path in texts_of(paths):
        roots.extend(_roots_of(path) if path != "-" and os.path.isdir(path) else [path])
    return list(dict.fromkeys(roots))


def copies_in(paths: OneOrMore) -> tuple[str, ...]:
    """Return the dated copies that are left out where folders are named."""
    folders = [path for path in texts_of(paths) if path != "-" and os.path.isdir(path)]
    return tuple(copy for folder in folders for copy in without_copies(_configs_in(folder))[1])


def _configs_in(folder: str) -> list[str]:
    try:
        names = names_in(folder)
    except OSError as err:
        raise unreadable(folder, err) from None
    found = [os.path.join(folder, n) for n in names if n.lower().endswith(_CONFIG_ENDINGS)]
    return [path for path in found if os.path.isfile(path)]


def _roots_of(folder: str) -> list[str]:
    found, _ = without_copies(_configs_in(folder))
    if not found:
        remedy = _where_configs_are(folder) or f"name one ({' or '.join(_CONFIG_ENDINGS)})"
        raise UsageError(f"there is no config in the folder '{folder}'", remedy)
    return _not_included(found)


def _not_included(found: Sequence[str]) -> list[str]:
    """Return the configs that no other of them includes; all where each is included."""
    included = {os.path.realpath(path) for root in found for path in _included(root)}
    return [path for path in found if os.path.realpath(path) not in included] or list(found)


def _included(root: str) -> Iterable[str]:
    try:
        tree = read_tree(root, reach=reach_of(root, follows=True), redactor=Outside())
        return [document.path for document in tree.documents[1:]]
    except UnreadableError:
        return []


def without_copies(paths: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return the configs of a folder, and the dated copies of them that are left out.

    ``printer-20260131_204500.cfg`` is a copy of ``printer.cfg``; where that is not there the
    newest copy stands for the machine.

    Parameters
    ----------
    paths : sequence of str
        Configs of one folder.
    """
    dated = {path: found for path in paths if (found := _dated(path)) is not None}
    plain = {os.path.splitext(path)[0] for path in paths if path not in dated}
    newest: dict[str, str] = {}
    for path, (stem, date) in dated.items():
        if stem not in newest or date > dated[newest[stem]][1]:
            newest[stem] = path
    copies = [p for p, (stem, _) in dated.items() if stem in plain or newest[stem] != p]
    return [path for path in paths if path not in copies], copies


def _dated(path: str) -> tuple[str, str] | None:
    """Return the path without ending and date, and the date's digits; None where there is none."""
    folder, name = os.path.split(os.path.splitext(path)[0])
    found = _DATED.fullmatch(name)
    if found is None:
        return None
    return os.path.join(folder, found["stem"]), re.sub(r"\D", "", found["date"])


def _where_configs_are(folder: str) -> str | None:
    """Return what to type instead of a folder without a config; None where none is found below.

    Hidden folders, links, and what lies deeper than four folders are left out; a very large tree
    is not searched to its end.
    """
    found = []
    for path in _configs_below(folder):
        found.append(path)
        if len(found) == _MOST_CONFIGS:
            break
    folders = list(dict.fromkeys(os.path.dirname(path) for path in _not_included(found)))
    if not folders:
        return None
    shown = [quote(path) for path in folders[:_SHOWN]]
    if len(folders) == 1:
        return f"there is one below it: name {shown[0]}"
    more = f" or {len(folders) - _SHOWN} more" if len(folders) > _SHOWN else ""
    return f"there are some below it: name {', '.join(shown)}{more}"


def _configs_below(folder: str) -> Iterator[str]:
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
            yield from (file for file in files if file.lower().endswith(_CONFIG_ENDINGS))
            below += folders
        level = below
