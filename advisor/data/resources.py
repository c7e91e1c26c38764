"""Finds grammars/ and rules/ in a checkout or a wheel, and the compiled data built from them.

Compiled data (grammar tables, the rulebook, the catalogue) is plain JSON built when the
package is built. It carries a digest of the folders it came from: where a file was edited
since, or nothing was compiled, the data is built on the fly. No pickle, no user cache.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

from advisor.base import DataError

__all__ = [
    "Plain",
    "Row",
    "artifact",
    "check_contents",
    "compiled_folder",
    "data_files",
    "digest",
    "folder",
    "read_text",
]

T = TypeVar("T")

Plain: TypeAlias = "dict[str, Plain] | list[Plain] | str | int | float | bool | None"
"""What a file holds once it is read: nothing but plain JSON types."""

Row: TypeAlias = dict[str, Any]
"""A mapping that a schema has read: what each value is, the kind of its key says."""

_CONTENTS = "contents.txt"
_PACKAGE = Path(__file__).resolve().parents[1]


@functools.cache
def folder(kind: str) -> Path:
    """Return the folder ``grammars`` or ``rules``: inside the package, else in the checkout.

    Raises
    ------
    DataError
        If neither place has it: the installation is damaged.
    """
    for place in (_PACKAGE / "_data" / kind, _PACKAGE.parent / kind):
        if place.is_dir():
            return place
    raise DataError(f"the folder {kind}/ is missing from the installation", "install it again")


def data_files(kind: str, pattern: str = "**/*") -> Iterator[Path]:
    """Yield the files of a data folder that match `pattern`, in sorted order."""
    yield from sorted(path for path in folder(kind).glob(pattern) if path.is_file())


def read_text(kind: str, name: str) -> str:
    """Return the text of one data file, e.g. ``read_text("grammars", "values.lark")``."""
    return (folder(kind) / name).read_text(encoding="utf-8")


@functools.cache
def digest() -> str:
    """Return a digest of the names and contents of all files under grammars/ and rules/."""
    state = hashlib.blake2b(digest_size=16)
    for _, name, path in _sources():
        state.update(name.encode() + b"\0")
        state.update(path.read_bytes() + b"\0")
    return state.hexdigest()


def compiled_folder() -> Path:
    """Return the folder that holds the compiled data (it may not exist)."""
    return _PACKAGE / "_data" / "compiled"


def artifact(name: str, build: Callable[[], T]) -> T:
    """Return the compiled data `name`, or what `build` makes of the sources now.

    Parameters
    ----------
    name : str
        A word; the file is ``_data/compiled/<name>.json``.
    build : callable
        Builds the same data, made of JSON types only, from grammars/ and rules/.
    """
    try:
        stored = json.loads((compiled_folder() / f"{name}.json").read_bytes())
        if stored["digest"] == digest():
            data: T = stored["data"]
            return data
    except (OSError, ValueError, KeyError, TypeError):
        pass
    check_contents()
    return build()


@functools.cache
def check_contents() -> None:
    """Make sure that the files under grammars/ and rules/ are those that contents.txt lists.

    The compiled data is made of them, and its digest covers them: where that fits, all are there.

    Raises
    ------
    DataError
        If one is missing, or not listed.
    """
    try:
        lines = read_text("rules", _CONTENTS).splitlines()
    except OSError:
        raise DataError(f"rules/{_CONTENTS} is missing", "install the package again") from None
    listed = {line.strip() for line in lines} - {""} - {x for x in lines if x.startswith("#")}
    there = {f"{kind}/{name}" for kind, name, _ in _sources()}
    for name in sorted(listed - there):
        remedy = f"install the package again, or take its line out of rules/{_CONTENTS}"
        raise DataError(f"{name} is missing from the installation", remedy)
    for name in sorted(there - listed):
        raise DataError(f"{name} is not listed in rules/{_CONTENTS}", "add a line with its name")


def _sources() -> Iterator[tuple[str, str, Path]]:
    """Yield kind, name and path of every file that the compiled data is made of."""
    for kind, pattern in (("grammars", "*.lark"), ("rules", "**/*.yaml")):
        root = folder(kind)
        for path in data_files(kind, pattern):
            yield kind, path.relative_to(root).as_posix(), path
