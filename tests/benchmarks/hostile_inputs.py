"""Prints what small hostile inputs cost: CPU seconds and the peak of the memory, each by itself.

    .venv/bin/python tests/benchmarks/hostile_inputs.py [NAME...]

An input below 1 MB may take 5 s of CPU and 300 MB. This is a measurement, no test: the tests
count (tests/answers/test_budgets.py and beside the readers). Each input runs in a process of its
own, stopped at 12 s of CPU (STOPPED_AT). The files are made up: costly_configs, costly_profiles and
costly_others hold them.
"""

# ruff: noqa: T201 (what it prints is what it is for)

from __future__ import annotations

import io
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import costly_configs
import costly_others
import costly_profiles
from costly_made import CASES, SMALL, Files

CPU_LIMIT, MEMORY_LIMIT, STOPPED_AT = 5.0, 300.0, 12
_LISTS = (costly_configs, costly_profiles, costly_others)  # each registers its own


def main(names: list[str]) -> int:
    """Run the named inputs, or all, and return how many that are small took too much."""
    over = 0
    print(f"{'input':40} {'bytes':>10} {'CPU s':>7} {'MB':>6} {'exit':>4}  first words", flush=True)
    for name in names or CASES:
        with tempfile.TemporaryDirectory() as folder:
            files, arguments = CASES[name]()
            size = _write(Path(folder), files)
            cpu, memory, code, said = _run(folder, arguments)
        bad = cpu > CPU_LIMIT or memory > MEMORY_LIMIT or code not in (0, 1, 2, 3)
        bad = bad or "INTERNAL" in said or "Traceback" in said
        over += bad and max(map(len, files.values())) <= SMALL
        mark = " OVER" if bad else ""
        print(
            f"{name:40} {size:10,} {cpu:7.2f} {memory:6.0f} {code:4}{mark}  {said[:90]}", flush=True
        )
    print(f"{over} over")
    return over


def _write(folder: Path, files: Files) -> int:
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (STOPPED_AT, STOPPED_AT))
    resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))


def _run(folder: str, arguments: list[str]) -> tuple[float, float, int, str]:
    """Return CPU seconds, peak megabytes, exit code and the first complaint or line."""
    command = [sys.executable, "-m", "advisor", *arguments]
    env = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # as for a user: modules are compiled once
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        child = subprocess.Popen(
            command,
            cwd=folder,
            stdout=out,
            stderr=err,
            stdin=subprocess.DEVNULL,
            env=env,
            preexec_fn=_limit,  # noqa: PLW1509
        )
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        said = next(_words(err), None) or next(_words(out), "")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, child.returncode, said


def _words(stream: io.BufferedRandom) -> Iterator[str]:
    stream.seek(0)
    text = stream.read(4_000_000).decode(errors="replace")
    for line in text.splitlines():
        if line.strip():
            yield line.strip()


if __name__ == "__main__":
    sys.exit(bool(main(sys.argv[1:])))
