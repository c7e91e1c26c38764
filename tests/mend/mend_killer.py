"""Writes two files over and over and strikes at the k-th system call, for every k.

Run as a program of its own, so that it can fork before anything heavy is loaded. It prints one
line of JSON: for each way to strike, what was found. ``before`` and ``after`` kill the process
around the call, ``half`` kills it in the middle of a write; ``error`` lets the call fail,
``interrupt`` raises what Ctrl-C raises.
"""

from __future__ import annotations

import errno
import json
import os
import signal
import sys
from pathlib import Path
from typing import Any

import advisor.files.plain
import advisor.files.steps
from advisor.base import AdvisorError, MendError
from advisor.files import steps as disk
from advisor.mend import write

PATCHED = (disk, advisor.files.steps, write, advisor.files.plain)
OLD = {"a.cfg": b"[s]\nk: 1\n" * 300, "b.cfg": b"\xef\xbb\xbf[t]\r\nj: 2\r\n" * 300}
NEW = {name: data.replace(b"1", b"0.5").replace(b"2", b"0.7") for name, data in OLD.items()}
MODES = {"a.cfg": 0o640, "b.cfg": 0o604}
PURE = frozenset({"fspath", "fsencode", "fsdecode", "strerror"})


class Shim:
    """The module ``os`` with every call counted, and a strike at one of them."""

    def __init__(self, way: str, at: int) -> None:
        self.way, self.at, self.count = way, at, 0

    def __getattr__(self, name: str) -> Any:
        real = getattr(os, name)
        if not callable(real) or name in PURE or isinstance(real, type):
            return real

        def called(*arguments: Any, **options: Any) -> Any:
            self.count += 1
            if self.count != self.at:
                return real(*arguments, **options)
            return self.strike(name, real, *arguments, **options)

        return called

    def strike(self, name: str, real: Any, *arguments: Any, **options: Any) -> Any:
        if self.way == "error":
            raise OSError(errno.EIO, "planted")
        if self.way == "interrupt":
            raise KeyboardInterrupt
        if self.way == "half" and name == "write":
            handle, data = arguments
            real(handle, data[: len(data) // 2])
        elif self.way == "after":
            real(*arguments, **options)
        os.kill(os.getpid(), signal.SIGKILL)
        raise AssertionError


def jobs(folder: Path) -> list[write.Job]:
    return [write.Job(name, str(folder / name), str(folder), OLD[name], NEW[name]) for name in OLD]


def fresh(folder: Path) -> None:
    for path in folder.iterdir():
        path.unlink()
    for name, data in OLD.items():
        (folder / name).write_bytes(data)
        (folder / name).chmod(MODES[name])


def child(folder: Path, way: str, at: int) -> None:
    """Write with a strike; leave with 0 (all written), 1 (a sentence), 2 (interrupted)."""
    shim = Shim(way, at)
    for module in PATCHED:
        if hasattr(module, "os"):
            module.os = shim  # type: ignore[attr-defined]
    code = 0
    try:
        write.write_all(jobs(folder))
    except AdvisorError as err:
        (folder / "said").write_text(str(err), encoding="utf-8")
        code = 1
    except KeyboardInterrupt:
        code = 2
    except Exception as err:  # noqa: BLE001 - told to the test
        (folder / "said").write_text(repr(err), encoding="utf-8")
        code = 3
    os._exit(code if shim.count >= at else 9)


def found(folder: Path, status: int) -> dict[str, Any]:
    """Return how the files are after a strike, and whether a next run puts all right."""
    names = [path.name for path in folder.iterdir()]
    result: dict[str, Any] = {
        "killed": os.WIFSIGNALED(status),
        "code": os.WEXITSTATUS(status) if os.WIFEXITED(status) else None,
        "files": {},
        "temporaries": sum(name.endswith(".tmp") for name in names),
        "said": "",
    }
    if "said" in names:
        result["said"] = (folder / "said").read_text(encoding="utf-8")
        (folder / "said").unlink()
    for name, old in OLD.items():
        data = (folder / name).read_bytes()
        state = "old" if data == old else "new" if data == NEW[name] else "LOST"
        mode = (folder / name).stat().st_mode & 0o777
        backups = [other for other in names if other.startswith(f".{name}.") and
                   other.endswith(".bak")]  # fmt: skip
        kept = any((folder / other).read_bytes() == old for other in backups)
        result["files"][name] = [state, mode == MODES[name], state == "old" or kept]
    result["next"] = again(folder)
    return result


def again(folder: Path) -> str:
    """Write what is still old; nothing of the strike may stand in the way or stay."""
    left = [job for job in jobs(folder) if (folder / job.shown).read_bytes() == job.before]
    try:
        write.write_all(left)
    except MendError as err:
        return str(err)
    if any((folder / name).read_bytes() != NEW[name] for name in NEW):
        return "not written"
    stale = [path.name for path in folder.iterdir() if path.name.endswith(".tmp")]
    rest = [name for name in stale if any(name.startswith(f".{job.shown}.") for job in left)]
    return "stale" if rest else "well"


def strike_all(folder: Path, way: str) -> list[dict[str, Any]]:
    results: list[dict[str, Any]] = []
    for at in range(1, 1000):
        fresh(folder)
        process = os.fork()
        if process == 0:
            child(folder, way, at)
        _, status = os.waitpid(process, 0)
        if os.WIFEXITED(status) and os.WEXITSTATUS(status) == 9:
            return results
        results.append(found(folder, status))
    raise AssertionError("there is no end to the calls")


def race(folder: Path, count: int) -> list[int]:
    """Let several processes write the same files at once; return how each of them ended."""
    fresh(folder)
    ready, go = os.pipe()
    children = []
    for _ in range(count):
        process = os.fork()
        if process == 0:
            os.close(go)
            os.read(ready, 1)
            try:
                write.write_all(jobs(folder))
            except MendError as err:
                known = "another run" in str(err) or "changed since" in str(err)
                os._exit(1 if known else 3)
            os._exit(0)
        children.append(process)
    os.close(ready)
    os.close(go)
    return sorted(os.WEXITSTATUS(os.waitpid(one, 0)[1]) for one in children)


def main() -> None:
    folder = Path(sys.argv[1])
    answer: dict[str, Any] = {way: strike_all(folder, way) for way in sys.argv[3:]}
    answer["race"] = []
    for _ in range(int(sys.argv[2])):
        ends = race(folder, 6)
        whole = all((folder / name).read_bytes() == NEW[name] for name in NEW)
        stale = sum(path.name.endswith(".tmp") for path in folder.iterdir())
        answer["race"].append([ends, whole, stale])
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
