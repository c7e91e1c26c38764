"""What the hostile inputs are made of: an ordinary config, a profile, and texts that repeat.

A case gives the files and the command line; `case` registers it under the name of its function.
All files are made up.
"""

from __future__ import annotations

from collections.abc import Callable

SMALL = 2**20
CONFIG = """\
[printer]
max_velocity: 300
max_accel: 3000

[extruder]
nozzle_diameter: 0.4
filament_diameter: 1.75
rotation_distance: 22.6
gear_ratio: 50:10
microsteps: 16
max_extrude_only_velocity: 60

[tmc2209 extruder]
run_current: 0.85
sense_resistor: 0.110
"""
PROFILE = "filament_type = PLA\nfilament_max_volumetric_speed = 24\nlayer_height = 0.2\n"
SMALL_MOTOR = "motor: {class: round-36, rated_current: 0.5 A, rating_basis: peak}\n"
WEIGHED = "flow [mm3/s]; length [mm]; mass [g]; skipped; note\n"

Files = dict[str, str | bytes]
Case = tuple[Files, list[str]]
CASES: dict[str, Callable[[], Case]] = {}
LINT = ["lint", "printer.cfg", "--fail-on", "never"]


def case(make: Callable[[], Case]) -> Callable[[], Case]:
    """Register an input under the name of its function."""
    CASES[make.__name__] = make
    return make


def lint(text: str | bytes, *more: str) -> Case:
    """Return a config that is linted, with more options."""
    return {"printer.cfg": text}, [*LINT, *more]


def profile(text: str | bytes, name: str = "p.ini", *command: str) -> Case:
    """Return a slicer profile beside the ordinary config, and the command that reads it."""
    files: Files = {"printer.cfg": CONFIG, name: text}
    return files, [*(command or LINT), "--profile", name]


def sheet(text: str) -> Case:
    """Return a hardware sheet beside the ordinary config."""
    return {"printer.cfg": CONFIG, "hardware.yaml": text}, LINT


def cut(line: str, size: int = SMALL) -> str:
    """Return a line again and again, up to a size [bytes]."""
    return line * (size // len(line) - 1)


def numbered(row: str, count: int) -> str:
    """Return a row so many times, `{i}` in it its number."""
    return "".join(row.format(i=i) for i in range(count))
