"""Shows what a change does to every output: runs every command on every sample in every form.

    tests/snapshot.py --against COMMIT     each difference from that commit's code
    tests/snapshot.py --out FILE           all outputs as one archive
    tests/snapshot.py --compare FILE       each difference from such an archive

The samples are those of this tree, whatever code runs, so that a difference is the code's. One
process runs all cases of a tree; ``--only TEXT`` keeps to the cases whose names hold it. Exit
codes: 0 nothing differs, 1 something does, 2 wrong usage.
"""

from __future__ import annotations

import argparse
import contextlib
import difflib
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Self

from snapshot_cases import Case, cases

ROOT = Path(__file__).resolve().parents[1]
Outputs = dict[str, str]  # by the name of the case
_STAMP = re.compile(r"\b\d{8}-\d{6}\b")  # in the name of a backup
_LONG = 160  # a longer line is broken before it is compared: a page, a picture
_ENVIRONMENT = {"LANG": "C.UTF-8", "TERM": "xterm-256color", "TZ": "UTC"}
_CLEARED = ("LC_ALL", "LC_CTYPE", "NO_COLOR", "FORCE_COLOR", "COLORTERM")


def outputs(tree: Path, samples: Path, only: str = "") -> Outputs:
    """Return what the code of a tree answers to all cases, in a copy of the samples.

    Parameters
    ----------
    tree : Path
        A checkout; its ``advisor`` and ``rules`` are used.
    samples : Path
        The folder ``samples`` to copy.
    only : str
        Keep to the cases whose names hold it.
    """
    with tempfile.TemporaryDirectory() as name, _at_home_in(Path(name)):
        sys.path.insert(0, str(tree))
        from advisor.cli import main

        here = Path(name)
        shutil.copytree(samples, here / "samples")
        run = _Runner(main, here, tree)
        made: Outputs = {}
        for case in cases(here, tree / "rules"):
            if only in case.name:
                made.update(run(case))
        return made


@contextlib.contextmanager
def _at_home_in(folder: Path) -> Iterator[None]:
    """Work in a folder, with nothing of the user's environment that an output depends on."""
    before, place, path = dict(os.environ), Path.cwd(), list(sys.path)
    for key in _CLEARED:
        os.environ.pop(key, None)
    os.environ.update(_ENVIRONMENT)
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(place)
        os.environ.clear()
        os.environ.update(before)
        sys.path[:] = path


class _Runner:
    """Runs cases one after another; each finds the samples as they were."""

    def __init__(self, main: Callable[[Sequence[str]], int], here: Path, tree: Path) -> None:
        self.main = main
        self.places = (
            (str(here.resolve()), "<here>"),
            (str(here), "<here>"),
            (str(tree), "<tree>"),
        )
        self.here = here
        self.files = {path: path.read_bytes() for path in _files(here)}
        self.stats = _stats(here)

    def __call__(self, case: Case) -> Outputs:
        """Return, by name, the text of a run at each width of the case."""
        names = {w: f"{case.name}/{w}" if len(case.widths) > 1 else case.name for w in case.widths}
        with _Split(case.widths) as split:
            text = self._text(case, split)
            return {names[width]: shown for width, shown in split.joined(text).items()}

    def _text(self, case: Case, split: _Split) -> str:
        """Return the command, its exit code, both streams and the files it wrote, as one text."""
        streams = sys.stdin, sys.stdout, sys.stderr
        out, err = _stream(), _stream()
        sys.stdin, sys.stdout, sys.stderr = _stream(case.stdin), out, err
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("always")  # each time, whatever ran before
                code = self.main(list(case.arguments))
        finally:
            sys.stdin, sys.stdout, sys.stderr = streams
        told = [("stderr", _bytes(err)), ("stdout", _bytes(out))]
        if not split.is_child:
            told += self._written()
        command = f"$ feedwright {' '.join(case.arguments)}"
        parts = [f"== {name}\n{_text(data)}" for name, data in told if data]
        return self._normal("\n".join([command, f"exit {code}", *parts]))

    def _written(self) -> Iterator[tuple[str, bytes]]:
        """Yield the files that are new, other or gone, and put everything back."""
        now = _stats(self.here)
        for path in sorted({*now, *self.stats}):
            if now.get(path) == self.stats.get(path):
                continue
            name = path.relative_to(self.here).as_posix()
            yield (f"written {name}", path.read_bytes()) if path in now else (f"gone {name}", b"-")
            if path in self.files:
                path.write_bytes(self.files[path])
            else:
                path.unlink()
        self.stats = _stats(self.here)

    def _normal(self, text: str) -> str:
        for path, word in self.places:
            text = text.replace(path, word)
        return _STAMP.sub("<time>", text)


class _Split:
    """Shows one answer at several widths without working it out again.

    The process splits in the moment that the program asks how wide its page is: a child goes on
    at each other width and sends what it shows through a pipe. A command that never asks shows
    the same at all widths.
    """

    def __init__(self, widths: Sequence[int]) -> None:
        self.widths = list(widths)
        self.width = min(widths, key=lambda width: abs(width - 80))
        self.pipe: int | None = None  # of a child, to its parent
        self.children: dict[int, tuple[int, int]] = {}
        self._plain = os._Environ.__getitem__

    @property
    def is_child(self) -> bool:
        return self.pipe is not None

    def __enter__(self) -> Self:
        os.environ["COLUMNS"] = str(self.width)
        if len(self.widths) > 1:
            os._Environ.__getitem__ = self._asked  # type: ignore[method-assign]
        return self

    def __exit__(self, *_: object) -> None:
        os._Environ.__getitem__ = self._plain  # type: ignore[method-assign]

    def _asked(self, key: Any) -> Any:
        if key == "COLUMNS" and not self.is_child and not self.children:
            for width in self.widths:
                if width != self.width and not self.is_child:
                    self._fork(width)
        return str(self.width) if key == "COLUMNS" else self._plain(os.environ, key)

    def _fork(self, width: int) -> None:
        into, out = os.pipe()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that threads of a numeric library are there
            child = os.fork()
        if child:
            os.close(out)
            self.children[width] = child, into
        else:
            os.close(into)
            self.width, self.pipe = width, out

    def joined(self, text: str) -> dict[int, str]:
        """Return the text at each width; a child sends its own and ends here."""
        if self.pipe is not None:
            with open(self.pipe, "wb") as pipe:
                pipe.write(text.encode("utf-8", "surrogatepass"))
            os._exit(0)
        made = dict.fromkeys(self.widths, text)
        for width, (child, into) in self.children.items():
            with open(into, "rb") as pipe:
                made[width] = pipe.read().decode("utf-8", "surrogatepass")
            if os.waitpid(child, 0)[1]:
                raise RuntimeError(f"the output at {width} columns was lost")
        return made


def _files(folder: Path) -> list[Path]:
    return [Path(at, name) for at, _, names in os.walk(folder) for name in names]


def _stats(folder: Path) -> dict[Path, tuple[int, int, int]]:
    stats = ((path, path.lstat()) for path in _files(folder))
    return {path: (stat.st_ino, stat.st_size, stat.st_mtime_ns) for path, stat in stats}


def _stream(data: bytes = b"") -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(data), encoding="utf-8", newline="")


def _bytes(stream: io.TextIOWrapper) -> bytes:
    stream.flush()
    return stream.buffer.getvalue()  # type: ignore[attr-defined, no-any-return]


def _text(data: bytes) -> str:
    """Return bytes as text: other encodings and control characters as escapes."""
    text = data.decode("utf-8", "backslashreplace")
    return re.sub(r"[^\n\x20-\x7e\x80-\U0010ffff]", lambda it: f"\\x{ord(it[0]):02x}", text)


def save(made: Outputs, file: Path) -> None:
    """Write outputs as an archive: equal outputs give equal bytes."""
    with zipfile.ZipFile(file, "w") as archive:
        for name in sorted(made):
            entry = zipfile.ZipInfo(f"{name}.txt", (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, made[name].encode("utf-8", "surrogatepass"))


def load(file: Path) -> Outputs:
    """Return the outputs of an archive."""
    with zipfile.ZipFile(file) as archive:
        texts = {name: archive.read(name) for name in archive.namelist()}
    return {
        name.removesuffix(".txt"): x.decode("utf-8", "surrogatepass") for name, x in texts.items()
    }


def differences(old: Outputs, new: Outputs, before: str, after: str) -> Iterator[str]:
    """Yield each difference once, as a diff below the names of all outputs that have it."""
    alike: dict[str, list[str]] = {}
    for name in sorted({*old, *new}):
        was, is_now = old.get(name), new.get(name)
        if was != is_now:
            alike.setdefault("\n".join(_diff(was, is_now)), []).append(name)
    for diff, names in alike.items():
        yield "\n".join([*(f"=== {name}" for name in names), f"--- {before}", f"+++ {after}", diff])


def _diff(was: str | None, is_now: str | None) -> Iterator[str]:
    """Yield the changed lines of one output with one line around them, and no line numbers."""
    if was is None or is_now is None:
        yield "+ (a new output)" if was is None else "- (this output is gone)"
        return
    lines = difflib.unified_diff(_lines(was), _lines(is_now), n=1, lineterm="")
    for line in list(lines)[2:]:
        yield "@@" if line.startswith("@@") else line


def _lines(text: str) -> list[str]:
    """Return the lines of an output; a very long one is broken at its tags, then at blanks."""
    lines: list[str] = []
    for line in text.split("\n"):
        parts = re.split(r"(?<=>)(?=<)", line) if len(line) > _LONG else [line]
        for part in parts:
            lines += re.findall(rf".{{1,{_LONG}}}(?:[ ,]|$)|.{{1,{_LONG}}}", part) or [part]
    return lines


def _of_commit(commit: str, only: str, work: Path) -> subprocess.Popen[bytes]:
    """Start the same script, in a process of its own, on the code of a commit."""
    git = ("git", "-C", str(ROOT), "worktree")
    subprocess.run([*git, "add", "--quiet", "--detach", str(work / "tree"), commit], check=True)
    options = ["--tree", str(work / "tree"), "--out", str(work / "old.zip"), "--only", only]
    return subprocess.Popen([sys.executable, __file__, *options], stdout=subprocess.DEVNULL)


def _against(commit: str, only: str) -> tuple[Outputs, Outputs]:
    """Return the outputs of a commit and of this tree, both worked out at the same time."""
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        try:
            other = _of_commit(commit, only, work)
            try:
                new = outputs(ROOT, ROOT / "samples", only)
            finally:
                code = other.wait()
            if code:
                raise SystemExit(f"the code of {commit} could not be run")
            return load(work / "old.zip"), new
        finally:
            remove = ("git", "-C", str(ROOT), "worktree", "remove", "--force", str(work / "tree"))
            subprocess.run(remove, check=False, stderr=subprocess.DEVNULL)


def _say(words: str) -> None:
    sys.stdout.write(f"{words}\n")


def _tell(old: Outputs, new: Outputs, before: str) -> int:
    for shown in differences(old, new, before, "this tree"):
        _say(f"{shown}\n")
    other = sum(old.get(name) != new.get(name) for name in {*old, *new})
    _say(f"{other} of {len({*old, *new})} outputs differ")
    return 1 if other else 0


def _asked(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--against", metavar="COMMIT", help="show each difference from its code")
    what.add_argument("--compare", metavar="FILE", type=Path, help="from an archive")
    what.add_argument("--out", metavar="FILE", type=Path, help="write an archive")
    parser.add_argument("--only", metavar="TEXT", default="", help="cases with this in the name")
    parser.add_argument("--tree", metavar="FOLDER", type=Path, default=ROOT, help="code to run")
    return parser.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Make a snapshot, or compare two, and return the exit code."""
    asked, begin = _asked(arguments), time.monotonic()
    if asked.against:
        old, new = _against(asked.against, asked.only)
        code = _tell(old, new, asked.against)
    else:
        new = outputs(asked.tree.resolve(), ROOT / "samples", asked.only)
        code = _tell(load(asked.compare), new, str(asked.compare)) if asked.compare else 0
        if asked.out:
            save(new, asked.out)
    _say(f"{len(new)} outputs in {time.monotonic() - begin:.0f} s")
    return code


if __name__ == "__main__":
    sys.exit(main())
