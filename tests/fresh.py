"""Imports the program anew within this process: from another tree, or with packages kept out.

What a process of its own would show (what an import loads, what a changed rule does) is seen
without starting one. The modules that were loaded before are back afterwards.
"""

from __future__ import annotations

import contextlib
import importlib
import sys
from collections.abc import Collection, Iterator
from pathlib import Path

__all__ = ["imported_anew", "wanted_by"]


@contextlib.contextmanager
def imported_anew(tree: Path | None = None, also: Collection[str] = ()) -> Iterator[None]:
    """Within it ``advisor`` is not yet imported, and comes from a tree if one is given.

    Parameters
    ----------
    tree : Path, optional
        A folder that holds a package ``advisor``.
    also : collection of str
        Further packages that are forgotten for the time.
    """
    names = {"advisor", *also}

    def ours() -> dict[str, object]:
        return {name: it for name, it in sys.modules.items() if name.partition(".")[0] in names}

    before, path = ours(), list(sys.path)
    for name in before:
        del sys.modules[name]
    if tree is not None:
        sys.path.insert(0, str(tree))
    importlib.invalidate_caches()
    try:
        yield
    finally:
        for name in ours():
            del sys.modules[name]
        sys.modules.update(before)  # type: ignore[arg-type]
        sys.path[:] = path


class _Watch:
    """Notes who asks for the packages, and finds none of them."""

    def __init__(self, packages: Collection[str]) -> None:
        self.packages = set(packages)
        self.wanted: set[str] = set()

    def find_spec(self, name: str, path: object = None, target: object = None) -> None:
        if name.partition(".")[0] in self.packages:
            self.wanted.add(name.partition(".")[0])
            raise ModuleNotFoundError(f"no module named {name!r} is let in", name=name)


@contextlib.contextmanager
def wanted_by(*packages: str) -> Iterator[set[str]]:
    """Within it the packages cannot be imported; yields the set of those that were asked for."""
    watch = _Watch(packages)
    with imported_anew(also=packages):
        sys.meta_path.insert(0, watch)  # type: ignore[arg-type]
        try:
            yield watch.wanted
        finally:
            sys.meta_path.remove(watch)  # type: ignore[arg-type]
