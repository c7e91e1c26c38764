"""The diff that mend prints is applied by other programs: GNU patch and git.

Each of them takes a whole table at once, as one diff of many files.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings, strategies as st
from tiers import LONG

from advisor.mend.apply import make_patch
from tests.mend.mend_helpers import patched as reckoned
from tests.studies.in_process import run

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "over-driven"
needs_patch = pytest.mark.skipif(shutil.which("patch") is None, reason="needs the program patch")
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


def patched(files: dict[str, bytes], data: bytes, folder: Path) -> dict[str, bytes]:
    """Return files after GNU patch has applied a diff to them, in a new folder."""
    _put(files, folder)
    done = subprocess.run(
        ["patch", "-p1", "--fuzz=0", "--no-backup-if-mismatch"],
        cwd=folder, input=data, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return _got(files, folder)


def _put(files: dict[str, bytes], folder: Path) -> None:
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def _got(files: dict[str, bytes], folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in files}


def _numbered(pairs: Sequence[tuple[bytes, bytes]]) -> dict[str, tuple[bytes, bytes]]:
    return {f"{number}.cfg": pair for number, pair in enumerate(pairs)}


def _sides(files: dict[str, tuple[bytes, bytes]]) -> tuple[dict[str, bytes], dict[str, bytes]]:
    before = {name: pair[0] for name, pair in files.items()}
    return before, {name: pair[1] for name, pair in files.items()}


@needs_patch
def test_patch_applies_it(tmp_path: Path) -> None:
    """GNU patch makes the new bytes of the old ones, without fuzz, and the old ones again."""
    files = _numbered(list(DATA.values()))
    before, after = _sides(files)
    data = diff(tmp_path, files)

    assert patched(before, data, tmp_path / "there") == after
    back = diff(tmp_path, {name: (new, old) for name, (old, new) in files.items()})
    assert patched(after, back, tmp_path / "back") == before


@needs_patch
def test_patch_finds_the_file(tmp_path: Path) -> None:
    """Names with blanks, quotes, tabs and accents."""
    files = dict.fromkeys(NAMES, (b"a\n", b"b\n"))
    before, after = _sides(files)
    assert patched(before, diff(tmp_path, files), tmp_path / "there") == after


@pytest.mark.skipif(shutil.which("git") is None, reason="needs git")
def test_git_apply_takes_it(tmp_path: Path) -> None:
    """As `git apply` does, outside of any repository."""
    files = _numbered([pair for kind, pair in DATA.items() if kind != "signs of a diff"])
    before, after = _sides(files)
    data = diff(tmp_path, files)
    _put(before, tmp_path)
    done = subprocess.run(
        ["git", "-c", "core.autocrlf=false", "apply", "--whitespace=nowarn", "-"],
        cwd=tmp_path, input=data, capture_output=True, check=False,
        env={"PATH": "/usr/bin:/bin", "GIT_CEILING_DIRECTORIES": str(tmp_path.parent)},
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert _got(before, tmp_path) == after


@needs_patch
def test_patch_applies_what_the_command_prints(tmp_path: Path) -> None:
    """The bytes of standard output; `mend --write` leaves the same."""
    machine = tmp_path / "machine"
    shutil.copytree(SAMPLE, machine)
    before = {"printer.cfg": (machine / "printer.cfg").read_bytes()}
    shown = run(["mend", "printer.cfg"], machine)
    written = run(["mend", "printer.cfg", "--write"], machine)
    after = _got(before, machine)

    assert (shown.faults, written.faults) == ((), ())
    assert before != after == patched(before, shown.out, tmp_path / "there")
    assert after == reckoned(before, shown.out)


line = st.sampled_from([b"a", b"b", b"", b"\r", b"x\xff", b"\x00", b"- a", b"\\ No"])
texts = st.builds(
    lambda lines, end: b"\n".join(lines) + end, st.lists(line, max_size=12),
    st.sampled_from([b"", b"\n"]),
).filter(bool)  # fmt: skip
pairs = st.tuples(texts, texts).filter(lambda pair: pair[0] != pair[1])


@needs_patch
@settings(max_examples=100 if LONG else 4, deadline=None)
@given(st.lists(pairs, min_size=8, max_size=16))
def test_patch_applies_any_diff(
    tmp_path_factory: pytest.TempPathFactory, told: list[tuple[bytes, bytes]]
) -> None:
    """Whatever the bytes, as long as there are some before and after.

    The reader of diffs that the tests of mend use makes the same of them.
    """
    folder = tmp_path_factory.mktemp("any")
    files = _numbered(told)
    before, after = _sides(files)
    data = diff(folder, files)
    assert patched(before, data, folder / "there") == after
    assert reckoned(before, data) == after
