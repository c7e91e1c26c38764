"""Decides for all readers whether what a file refers to lies inside of its folder, or outside.

A config, sheet or profile from somebody else may name any file of this machine. Inside is what lies
in the folder of the file that was named on the command line, links followed, and in the folders
that the command line allows. Nothing outside is quoted or edited; a config's include may be read
there, if it looks like a config and nothing else.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable

from advisor.base import frozen
from advisor.files.plain import of_the_system

__all__ = ["NOT_SHOWN", "OUTSIDE", "Reach", "reach_of", "real_path"]

NOT_SHOWN = "(not shown)"
"""Stands in place of any text of a file outside."""

OUTSIDE = "it lies outside of the folder of the file that names it, and is not read"
"""The one sentence on what is outside, be it absent, unreadable or of another kind."""

_ENDING = ".cfg"
_LONGEST = 4 * 1024 * 1024  # bytes of a config outside
_COMMENT = re.compile(rb"[ \t]*(?:[#;].*)?")
_HEADER = re.compile(rb"\[[^\[\]]+\][ \t]*(?:[#;].*)?")


@frozen
class Reach:
    """The folders that count as inside, by real path, and whether configs outside are followed."""

    folders: tuple[str, ...]
    follows: bool = False

    def holds(self, path: str) -> bool:
        """Whether a path is inside, links followed; what does not exist has a place too."""
        real = real_path(path)
        return any(_within(real, folder) for folder in self.folders)

    def may_follow(self, path: str) -> bool:
        """Whether a path outside may be a config that is read, by its real name and place."""
        real = real_path(path)
        return self.follows and real.endswith(_ENDING) and not of_the_system(real)

    @staticmethod
    def is_config(data: bytes) -> bool:
        """Whether the first line that is no comment is the header of a section."""
        if len(data) > _LONGEST:
            return False
        for line in data.removeprefix(b"\xef\xbb\xbf").splitlines():
            if not _COMMENT.fullmatch(line):
                return bool(_HEADER.fullmatch(line.rstrip()))
        return False


def reach_of(path: str, allowed: Iterable[str] = (), *, follows: bool = False) -> Reach:
    """Return what the file `path`, named by the user, may lead to.

    Parameters
    ----------
    path : str
        The file; its folder is inside.
    allowed : iterable of str
        Further folders that are inside.
    follows : bool, optional
        Whether configs outside may be read, for their values.
    """
    folders = (os.path.dirname(path) or os.curdir, *allowed)
    return Reach(tuple(dict.fromkeys(map(real_path, folders))), follows)


def real_path(path: str) -> str:
    """Return the path that tells a file from another, links followed; itself if it is none."""
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):
        return path


def _within(real: str, folder: str) -> bool:
    return real == folder or real.startswith(folder.rstrip(os.sep) + os.sep)
