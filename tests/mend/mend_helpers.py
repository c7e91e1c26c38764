"""An invented machine with planted faults, and ways to run the program on it."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor import Asks, Report
from advisor.answers.build_records import Edit, MendReport
from advisor.answers.lint import check
from advisor.answers.mend_files import mend
from advisor.answers.mend_rounds import EditChoice
from advisor.cli import main
from advisor.judge import Rulebook
from advisor.judge.build import build_rulebook

ROOT = Path(__file__).resolve().parents[2]
SAVED = (
    "#*# <---------------------- SAVE_CONFIG ---------------------->\n"
    "#*# DO NOT EDIT THIS BLOCK OR BELOW. The contents are auto-generated.\n"
    "#*#\n"
)
CONFIG = """\
# Invented: a machine of no one.
[printer]
max_velocity: 300
max_accel: 5000
square_corner_velocity: 5.0

[extruder]
rotation_distance: 22.6
gear_ratio: 50:10
full_steps_per_rotation: 200
microsteps: 16
nozzle_diameter: 0.4
filament_diameter: 1.75
max_extrude_only_velocity: 50
max_extrude_only_accel: 1000
min_extrude_temp: 170
min_temp: 0
max_temp: 275
pressure_advance: 0.03

"""
DRIVER = """\
[tmc2209 extruder]
sense_resistor: 0.110
run_current: 0.9
hold_current: 0.7
stealthchop_threshold: 0
"""
SHEET = """\
motor: {class: square-42-short, rated_current: 1.0 A, rating_basis: peak, holding_torque: 0.16 N m}
drive: {driven_gears: 2, gear_diameter: 7.2 mm, stages: 1, free_gap: 3 mm, mount: metal}
hotend: {class: standard, melt_length: 12.5 mm, heater_power: 50 W}
filament: {material: abs, temperature: 245 degC}
supply: {voltage: 24 V}
chamber: 30 degC
"""
PROFILE = """\
layer_height = 0.2
extrusion_width = 0.45
perimeter_speed = 200
filament_type = ABS
filament_max_volumetric_speed = 24
"""


@dataclass(frozen=True)
class Ran:
    """What one run of the program did."""

    code: int
    out: bytes
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


class Machine:
    """Files in a folder, and what the program says of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sheet()
        self.config()

    def config(self, text: str | bytes = CONFIG + DRIVER, name: str = "printer.cfg") -> Path:
        """Write a config, byte for byte."""
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    def sheet(self, text: str = SHEET) -> None:
        (self.folder / "hardware.yaml").write_text(text, encoding="utf-8")

    def profile(self, text: str | bytes = PROFILE, name: str = "fast.ini") -> str:
        """Write a slicer profile and return its name."""
        self.config(text, name)
        return name

    def bytes(self, name: str = "printer.cfg") -> bytes:
        return (self.folder / name).read_bytes()

    def mend(
        self,
        *profiles: str,
        name: str = "printer.cfg",
        choice: EditChoice | None = None,
        **more: Any,
    ) -> MendReport:
        """Mend in this process; the folder must be the present one."""
        asks = Asks(profiles=profiles, **more.pop("asks", {}))
        return mend(name, asks, choice=choice, **more)

    def lint(self, *profiles: str, name: str = "printer.cfg") -> Report:
        return check([name], Asks(profiles=profiles))

    def run(self, *arguments: str, stdin: bytes = b"", cwd: Path | None = None) -> Ran:
        """Run the program in this process, with streams of its own."""
        streams = sys.stdin, sys.stdout, sys.stderr
        out, err = io.BytesIO(), io.BytesIO()
        sys.stdin = io.TextIOWrapper(io.BytesIO(stdin), "utf-8")
        sys.stdout, sys.stderr = (io.TextIOWrapper(one, "utf-8") for one in (out, err))
        try:
            with contextlib.chdir(cwd or self.folder):
                code = main(arguments)
            sys.stdout.flush()
            sys.stderr.flush()
            return Ran(int(code), out.getvalue(), err.getvalue().decode())
        finally:
            sys.stdin, sys.stdout, sys.stderr = streams

    def start(self, *arguments: str) -> Ran:
        """Run the program as a process of its own."""
        done = subprocess.run(
            [sys.executable, "-m", "advisor", *arguments],
            cwd=self.folder, env=environment(), capture_output=True, check=False,
        )  # fmt: skip
        return Ran(done.returncode, done.stdout, done.stderr.decode("utf-8", "replace"))

    def hidden(self) -> list[str]:
        """Return the names of hidden files anywhere in the folder: backups and temporaries."""
        return sorted(path.name for path in self.folder.rglob(".*") if path.is_file())


def environment() -> Mapping[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return kept | {"PYTHONPATH": str(ROOT), "COLUMNS": "80", "NO_COLOR": "1", "PYTHONUTF8": "1"}


def fixes(report: MendReport) -> list[tuple[str, str | None, str]]:
    """Return setting, old and new value of each edit."""
    return [(edit.setting, edit.old, edit.new) for edit in report.edits]


def rules_of(report: Report) -> list[str]:
    return [finding.rule for finding in report.findings]


_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


def with_values(data: bytes, edits: Sequence[Edit]) -> bytes:
    """Return a file with values replaced by line and column alone: what an edit may do."""
    text = data.decode("utf-8", "surrogateescape")
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    lines = _LINE.findall(text.removeprefix("\ufeff"))
    for edit in edits:
        assert edit.old is not None
        line, start = lines[edit.at.line - 1], edit.at.column - 1
        place = line.index(edit.old, start)
        lines[edit.at.line - 1] = line[:place] + edit.new + line[place + len(edit.old) :]
    return (mark + "".join(lines)).encode("utf-8", "surrogateescape")


_LINES = re.compile(rb"[^\n]*\n|[^\n]+")
_HUNK = re.compile(rb"@@ -(\d+)(?:,(\d+))? \+")


def patched(files: Mapping[str, bytes], diff: bytes) -> dict[str, bytes]:
    """Return files after a diff, by the rules of the unified format (GNU diffutils manual, 2.2.2).

    For names without special characters, and lines that are no heads of a diff themselves. That
    GNU patch makes the same of the same diffs is tried in tests/cli.
    """
    made = dict(files)
    for part in re.split(rb"(?m)^(?=--- a/)", diff)[1:]:
        head, _, *body = _LINES.findall(part)
        name = head[6:].rstrip(b"\n").split(b"\t")[0].decode()
        old, new, at = _LINES.findall(files[name]), [], 0
        for line, following in zip(body, [*body[1:], b""], strict=True):
            if hunk := _HUNK.match(line):
                start = int(hunk[1]) - (hunk[2] != b"0")  # an empty part stands behind its line
                new += old[at:start]
                at = start
                continue
            text = line[1:-1] if following.startswith(b"\\") else line[1:]
            if line[:1] in (b" ", b"-"):
                assert old[at] == text, (name, at)
                at += 1
            if line[:1] in (b" ", b"+"):
                new.append(text)
        made[name] = b"".join(new + old[at:])
    return made


def rulebook(text: str) -> Rulebook:
    """Return a rulebook of the rules in a text, in the vocabulary of the program."""
    return Rulebook.from_rows(build_rulebook({"some.yaml": text}))
