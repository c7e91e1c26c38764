"""A file system in memory for the profile reader, and the folders of the tests on the path."""

from __future__ import annotations

import io
import json
import os
import sys
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, BinaryIO

import pytest

from advisor.inputs.profile import ProfileSet, read_profiles

HERE = Path(__file__).resolve().parent
for folder in (HERE.parent, HERE):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

Files = Mapping[str, str | bytes | dict[str, Any]]
Ask = Callable[..., ProfileSet]


class Disk:
    """Files by path; texts and objects are stored as UTF-8."""

    def __init__(self, files: Files) -> None:
        self.files = {os.path.normpath(path): _bytes(data) for path, data in files.items()}

    def open(self, path: str) -> BinaryIO:
        try:
            return io.BytesIO(self.files[os.path.normpath(path)])
        except KeyError:
            raise FileNotFoundError(2, "No such file or directory", path) from None

    def list(self, folder: str) -> Sequence[str]:
        prefix = os.path.normpath(folder) + "/"
        rest = [path[len(prefix) :] for path in self.files if path.startswith(prefix)]
        if prefix == "./":
            rest = list(self.files)
        return sorted({name.split("/")[0] + ("/" if "/" in name else "") for name in rest})


def _bytes(data: str | bytes | dict[str, Any]) -> bytes:
    if isinstance(data, dict):
        return json.dumps(data, indent=1).encode()
    return data.encode() if isinstance(data, str) else data


def zipped(members: Files) -> bytes:
    """Return a zip archive of the members."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, _bytes(data))
    return target.getvalue()


@pytest.fixture
def ask() -> Ask:
    """Read profiles: ``ask({path: content}, paths..., **options)``; all paths if none is given."""

    def read(files: Files, *paths: str, **options: Any) -> ProfileSet:
        disk = Disk(files)
        return read_profiles(
            paths or tuple(files), open_file=disk.open, list_folder=disk.list, **options
        )

    return read
