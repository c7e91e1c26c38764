"""The diff is in the common format, byte for byte, and other programs apply it."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mend_helpers import LONG, needs_patch, patched

from advisor.mend.diff import make_patch

DATA = {
    "plain": (b"a\nb\nc\n", b"a\nB\nc\n"),
    "carriage returns": (b"a\r\nb\r\nc\r\n", b"a\r\nB\r\nc\r\n"),
    "carriage returns alone": (b"a\rb\rc", b"a\rB\rc"),
    "mixed ends": (b"a\r\nb\nc\rd\n", b"a\r\nb\nc\rD\n"),
    "no last end": (b"a\nb", b"a\nB"),
    "no last end, far away": (b"a\n" + b"x\n" * 9 + b"b", b"A\n" + b"x\n" * 9 + b"b"),
    "last line put in": (b"a\nb", b"a\nb\nc"),
    "old code page": (b"\xb0C\na\n", b"\xb0C\nb\n"),
    "a mark in front": (b"\xef\xbb\xbfa\n", b"\xef\xbb\xbfb\n"),
    "far apart": (b"a\n" * 9 + b"b\n" * 9, b"A\n" + b"a\n" * 8 + b"b\n" * 8 + b"B\n"),
    "signs of a diff": (b"--- a\n+++ b\n@@ -1 +1 @@\n-x\n", b"--- a\n+++ b\n@@ -1 +1 @@\n+x\n"),
    "other separators": ("a\u2028b\n\x0bc\x85\n".encode(), "a\u2028B\n\x0bc\x85\n".encode()),
}  # fmt: skip
NAMES = (
    "printer.cfg",
    "a b.cfg",
    "sub dir/x.cfg",
    "caf\u00e9.cfg",
    'q"uote.cfg',
    "tab\t.cfg",
    "-x.cfg",
)


def diff(folder: Path, files: dict[str, tuple[bytes, bytes]]) -> bytes:
    old = {str(folder / name): before for name, (before, _) in files.items()}
    new = {str(folder / name): after for name, (_, after) in files.items()}
    patch = make_patch(old, new, str(folder))
    assert patch.folder == "."
    return patch.data


@needs_patch
@pytest.mark.parametrize("kind", DATA)
def test_patch_applies_it(tmp_path: Path, kind: str) -> None:
    """GNU patch makes the new bytes of the old ones, without fuzz, and the old ones again."""
    before, after = DATA[kind]
    data = diff(tmp_path, {"a.cfg": (before, after)})

    assert patched({"a.cfg": before}, data, tmp_path / "there") == {"a.cfg": after}
    back = diff(tmp_path, {"a.cfg": (after, before)})
    assert patched({"a.cfg": after}, back, tmp_path / "back") == {"a.cfg": before}


@needs_patch
@pytest.mark.parametrize("name", NAMES)
def test_patch_finds_the_file(tmp_path: Path, name: str) -> None:
    """Names with blanks, quotes, tabs and accents."""
    data = diff(tmp_path, {name: (b"a\n", b"b\n")})
    assert patched({name: b"a\n"}, data, tmp_path / "there") == {name: b"b\n"}


@pytest.mark.skipif(shutil.which("git") is None, reason="needs git")
@pytest.mark.parametrize("kind", [kind for kind in DATA if kind != "signs of a diff"])
def test_git_apply_takes_it(tmp_path: Path, kind: str) -> None:
    """As `git apply` does, outside of any repository."""
    before, after = DATA[kind]
    data = diff(tmp_path, {"a.cfg": (before, after)})
    (tmp_path / "a.cfg").write_bytes(before)
    done = subprocess.run(
        ["git", "-c", "core.autocrlf=false", "apply", "--whitespace=nowarn", "-"],
        cwd=tmp_path, input=data, capture_output=True, check=False,
        env={"PATH": "/usr/bin:/bin", "GIT_CEILING_DIRECTORIES": str(tmp_path.parent)},
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert (tmp_path / "a.cfg").read_bytes() == after


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


line = st.sampled_from([b"a", b"b", b"", b"\r", b"x\xff", b"\x00", b"- a", b"\\ No"])
texts = st.builds(
    lambda lines, end: b"\n".join(lines) + end, st.lists(line, max_size=12),
    st.sampled_from([b"", b"\n"]),
)  # fmt: skip


@needs_patch
@settings(max_examples=1000 if LONG else 40, deadline=None)
@given(before=texts, after=texts)
def test_patch_applies_any_diff(
    tmp_path_factory: pytest.TempPathFactory, before: bytes, after: bytes
) -> None:
    """Whatever the bytes, as long as there are some before and after."""
    if before == after or not before or not after:
        return
    folder = tmp_path_factory.mktemp("any")
    data = diff(folder, {"a.cfg": (before, after)})
    assert patched({"a.cfg": before}, data, folder / "there") == {"a.cfg": after}
