"""Prints what reading a config costs. Run it by hand: python tests/benchmarks/read_config.py

Nothing here is asserted; times depend on the machine. Each case runs in a process of its own,
so that its peak of memory is its own.
"""

# ruff: noqa: T201 (what it prints is what it is for)

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = b"""[extruder]
step_pin: PB3
dir_pin: !PB4   # turned round
rotation_distance: 22.6789511
gear_ratio: 50:10

# the macro that begins a print
[gcode_macro PRINT_BEGIN]
gcode:
    {% set heat = params.HEAT|default(200)|float %}
    G28
    M104 S{heat}   ; begin to heat

    G1 Z5 F3000
"""
MEGA = 1_000_000


def timed(what: str, work: Callable[[], object]) -> None:
    """Print the time of one call, and the peak of memory so far where the system tells it."""
    begin = time.perf_counter()
    work()
    seconds = time.perf_counter() - begin
    try:
        import resource

        peak = f", peak {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB"
    except ImportError:
        peak = ""
    print(f"{what:58s} {seconds * 1e3:9.2f} ms{peak}", flush=True)


def start() -> None:
    """A first config of 2 kB: the import of lark, the grammar, and the reading, apart."""
    small = (SAMPLE * 10)[:2000]
    timed("import lark", lambda: __import__("lark"))
    timed("import advisor.config", lambda: __import__("advisor.config"))
    import json

    from advisor.config import read_document, reader as lexing
    from advisor.data import grammar

    stored = json.dumps(lexing.build_grammar())
    grammar.artifact = lambda name, build: json.loads(stored)  # type: ignore[assignment]
    timed("restore the lexer from its JSON and read 2 kB", lambda: read_document(small, "x"))
    timed("read 2 kB again", lambda: read_document(small, "x"))
    grammar.artifact = lambda name, build: build()
    lexing._lexer.cache_clear()
    timed("build the lexer from the grammar and read 2 kB", lambda: read_document(small, "x"))


def big() -> None:
    """A config of 8 MB, a thousand times what anybody has."""
    from advisor.config import read_document

    data = SAMPLE * (8 * MEGA // len(SAMPLE))
    read_document(SAMPLE, "x")
    timed(f"read {len(data) / MEGA:.1f} MB of config", lambda: read_document(data, "x"))


def one_line(data: bytes) -> None:
    """One line of 100 MB."""
    from advisor.config import read_document

    timed(f"read {len(data) / MEGA:.0f} MB: {data[:12]!r}...", lambda: read_document(data, "x"))


def huge() -> None:
    """A file of 200 MB is refused by its size."""
    from advisor.base import UnreadableError
    from advisor.config import read_tree

    def read(path: str) -> None:
        try:
            read_tree(path)
        except UnreadableError as err:
            print(str(err).replace(path, "big.cfg"))

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "big.cfg"
        with path.open("wb") as stream:
            for _ in range(200):
                stream.write(b"[s]\nk: 1\n" * (MEGA // 9))
        timed("open a file of 200 MB", lambda: read(str(path)))


CASES: dict[str, Callable[[], None]] = {
    "start": start,
    "big": big,
    "word": lambda: one_line(b"a" * 100 * MEGA),
    "value": lambda: one_line(b"[s]\nk: " + b"a" * 100 * MEGA),
    "semicolons": lambda: one_line(b"[s]\nk;" + b"a;" * 50 * MEGA),
    "brackets": lambda: one_line(b"[" * 100 * MEGA),
    "blanks": lambda: one_line(b" " * 100 * MEGA),
    "wide": lambda: one_line("[s]\nk: \U0001f9f5".encode() + b"a" * 100 * MEGA),
    "bad-bytes": lambda: one_line(b"[s]\nk: " + b"\xff" * 100 * MEGA),
    "line-ends": lambda: one_line(b"\n" * 100 * MEGA),
    "settings": lambda: one_line(b"[s]\n" + b"a:\n" * 33 * MEGA),
    "huge": huge,
}

if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    for case in sys.argv[1:]:
        CASES[case]()
    if len(sys.argv) == 1:
        for case in CASES:
            subprocess.run([sys.executable, __file__, case], check=True)
