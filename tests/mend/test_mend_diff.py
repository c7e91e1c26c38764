"""The diff is in the common format, byte for byte; that other programs apply it: tests/cli."""

from __future__ import annotations

from pathlib import Path

from advisor.mend.apply import make_patch


def diff(folder: Path, files: dict[str, tuple[bytes, bytes]]) -> bytes:
    old = {str(folder / name): before for name, (before, _) in files.items()}
    new = {str(folder / name): after for name, (_, after) in files.items()}
    patch = make_patch(old, new, str(folder))
    assert patch.folder == "."
    return patch.data


def test_the_format_is_the_common_one(tmp_path: Path) -> None:
    """Three lines around a change, the counts of lines, and the sign of a missing last end."""
    before = b"1\n2\n3\n4\n5\n6\n7\n8\n9"
    after = b"1\n2\n3\n4\nfive\n6\n7\n8\n9"
    last = b"1\n2\n3\n4\n5\n6\n7\n8\nnine"

    assert diff(tmp_path, {"a.cfg": (before, after)}) == (
        b"--- a/a.cfg\n+++ b/a.cfg\n@@ -2,7 +2,7 @@\n 2\n 3\n 4\n-5\n+five\n 6\n 7\n 8\n"
    )
    assert diff(tmp_path, {"a.cfg": (before, last)}) == (
        b"--- a/a.cfg\n+++ b/a.cfg\n@@ -6,4 +6,4 @@\n 6\n 7\n 8\n"
        b"-9\n\\ No newline at end of file\n+nine\n\\ No newline at end of file\n"
    )


def test_what_is_the_same_is_no_part_of_it(tmp_path: Path) -> None:
    """No change, no bytes."""
    assert diff(tmp_path, {"a.cfg": (b"a\n", b"a\n")}) == b""


def test_files_outside_of_the_folder_share_another(tmp_path: Path) -> None:
    """They are named from the folder that holds them all, for `patch -d`."""
    inner = tmp_path / "machine"
    old = {str(inner / "a.cfg"): b"a\n", str(tmp_path / "shared" / "b.cfg"): b"b\n"}
    new = {path: data.upper() for path, data in old.items()}
    patch = make_patch(old, new, str(inner))

    assert patch.folder == str(tmp_path)
    assert b"--- a/machine/a.cfg\n" in patch.data
    assert b"--- a/shared/b.cfg\n" in patch.data
