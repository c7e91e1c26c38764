"""Damaged and combined configs through lint, mend, flow and the page: does anything fall over?

    python tests/studies/damaged_configs.py [--count 10000] [--seed 1] [--first 0]

A machine is made from the samples and from invented texts as they are met in the field, and
damaged: bytes flipped, lines swapped, cut and doubled, sections joined, numbers huge, tiny, not
finite or in other digits, includes added. Machine N of a seed is the same in every run, so that
one that fails can be made again with `--first N --count 1 --keep FOLDER`. Counted are internal
errors, warnings, tracebacks, exit codes that are not in the README's table, and words of those.
Pages are of 100 likely machines and without pictures, which draw from the same answer; every 50th
is whole.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import re
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from unittest import mock

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from advisor.report import pictures
from tests.studies.in_process import run

SAMPLES = sorted(path for path in (ROOT / "samples").rglob("*.cfg") if path.is_file())
OTHERS = {
    "hardware.yaml": sorted((ROOT / "samples").rglob("hardware.yaml")),
    "profile.ini": sorted((ROOT / "samples").rglob("profile.ini")),
}
FIELD = """\
[include drivers/*.cfg]
[mcu]
serial: /dev/invented
[printer]
kinematics: corexy
max_velocity: 400
max_accel: 8000
max_accel_to_decel: 100000000
[extruder]
step_pin: PB3
microsteps:\u00a016
rotation_distance = 22.67895 # calibrated
gear_ratio: 44:10, 37:17
full_steps_per_rotation: 400
nozzle_diameter: .4
filament_diameter: 1.750
max_extrude_cross_section: 20000
max_extrude_only_velocity: 5000
pressure_advance: 0.045
min_extrude_temp: -20
min_temp: -250
max_temp: 300
control: pid
[extruder_stepper belt]
extruder: extruder
rotation_distance: 32.8
microsteps: 16
[tmc2209 extruder]
uart_pin: PC10
run_current: .650
hold_current: 0.500
sense_resistor: 0.110
stealthchop_threshold: 999999
interpolate: FALSE
[tmc5160 extruder_stepper belt]
run_current: 0.8
[firmware_retraction]
retract_length: 0.8
retract_speed: 45
[gcode_macro LOAD]
gcode:
    M83
    G1 E50 F300
    {% if printer.extruder.can_extrude %}
    G1 E{params.L|float} F600
    {% endif %}
#*# <---------------------- SAVE_CONFIG ---------------------->
#*# DO NOT EDIT THIS BLOCK OR BELOW. The contents are auto-generated.
#*#
#*# [extruder]
#*# pressure_advance = 0.061
"""
NUMBERS = (
    "1e155", "5e-324", "1.8e308", "1e999", "-1e300", "nan", "inf", "-inf", "0", "-0", "-1", "1e-9",
    "9" * 400, "0." + "0" * 46 + "1", "1_0", "0x10", "1,5", "\u0660.\u0664", "\uff11\uff12",
    "1e7", "1e9", "0.001", "1e-6", "0.4mm", "{{ v }}", "", "????", "1:0", "0:0", "1e300:1", "50:17,",
    "10000", "0.1", "1000", "20", "0.01", "65536",
)  # fmt: skip
LINES = (
    "[extruder]", "[extruder1]", "[printer]", "[tmc2209 extruder]", "[tmc2660 extruder1]", "[", "]", "[]",
    "[include nowhere.cfg]", "[include printer.cfg]", "[include *.cfg]", "[include ../*]", "[include /etc/passwd]",
    "[printer:a]", "<<<<<<< ours", "=======", ":", "=", "  : x", "\tG1 E5 F100", "# feedwright: allow x, y",
    "#*# ", "run_current: 0.8", "step_distance: 0.005", "rref: 12000", "key", "\x00", "\x1b[31m", "\u202e",
)  # fmt: skip
_VALUE = re.compile(r"^(\s*[\w]+\s*[:=]\s*)([-+.\d:, ]+)", re.MULTILINE)


def flip(text: str, dice: random.Random) -> str:
    data = bytearray(text.encode("utf-8", "surrogateescape"))
    for _ in range(dice.randint(1, 12)):
        if data:
            data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
    return data.decode("utf-8", "surrogateescape")


def _lines(work: Callable[[list[str], random.Random], None]) -> Callable[[str, random.Random], str]:
    def damage(text: str, dice: random.Random) -> str:
        lines = text.split("\n")
        work(lines, dice)
        return "\n".join(lines)

    return damage


def _swap(lines: list[str], dice: random.Random) -> None:
    for _ in range(dice.randint(1, 5)):
        i, j = dice.randrange(len(lines)), dice.randrange(len(lines))
        lines[i], lines[j] = lines[j], lines[i]


def _cut(lines: list[str], dice: random.Random) -> None:
    at = dice.randrange(len(lines))
    del lines[at : at + dice.randint(1, 6)]


def _double(lines: list[str], dice: random.Random) -> None:
    at = dice.randrange(len(lines))
    lines[at:at] = lines[max(0, at - dice.randint(1, 15)) : at]


def _add(lines: list[str], dice: random.Random) -> None:
    for _ in range(dice.randint(1, 3)):
        lines.insert(dice.randrange(len(lines) + 1), dice.choice(LINES))


def _indent(lines: list[str], dice: random.Random) -> None:
    at = dice.randrange(len(lines))
    lines[at] = dice.choice((" ", "\t", "    ", "\u00a0")) + lines[at]


def numbers(text: str, dice: random.Random) -> str:
    """Put odd numbers into some settings."""
    share = dice.choice((0.03, 0.1, 0.3))

    def odd(found: re.Match[str]) -> str:
        return found[1] + dice.choice(NUMBERS) if dice.random() < share else found[0]

    return _VALUE.sub(odd, text)


def sizes(text: str, dice: random.Random) -> str:
    """Scale some settings by powers of ten: each on its own may still be within its range."""

    def scaled(found: re.Match[str]) -> str:
        try:
            number = float(found[2])
        except ValueError:
            return found[0]
        return (
            f"{found[1]}{number * 10.0 ** dice.randint(-4, 4):g}"
            if dice.random() < 0.3
            else found[0]
        )

    return _VALUE.sub(scaled, text)


def join(text: str, dice: random.Random) -> str:
    return text + "\n" + dice.choice([FIELD, *_texts(SAMPLES)])


def ends(text: str, dice: random.Random) -> str:
    return text.replace("\n", dice.choice(("\r\n", "\r", "\n\r", "\x0b")), dice.choice((1, 5, -1)))


DAMAGES: tuple[Callable[[str, random.Random], str], ...] = (
    flip, _lines(_swap), _lines(_cut), _lines(_double), _lines(_add), _lines(_indent), numbers, numbers,
    sizes, sizes, join, ends,
)  # fmt: skip


def _texts(paths: list[Path]) -> list[str]:
    return [path.read_bytes().decode("utf-8", "surrogateescape") for path in paths]


def make(folder: Path, dice: random.Random) -> None:
    """Write one machine into `folder`: a config, perhaps an include, a sheet and a profile."""
    text = dice.choice([FIELD, FIELD, *_texts(SAMPLES)])
    for _ in range(dice.choice((1, 1, 2, 3, 5))):
        text = dice.choice(DAMAGES)(text, dice)
    if dice.random() < 0.15:
        half = text.rfind("\n", 0, len(text) // 2) + 1
        _write(folder / "part.cfg", text[half:])
        text = f"{text[:half]}[include part.cfg]\n"
    _write(folder / "printer.cfg", text)
    for name, others in OTHERS.items():
        other = dice.choice(_texts(others))
        for _ in range(dice.choice((0, 0, 0, 1, 2))):
            other = dice.choice(DAMAGES[:10])(other, dice)
        if name == "profile.ini" or dice.random() < 0.7:
            _write(folder / name, other)


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8", "surrogateescape"))


COMMANDS = {
    "lint": ("lint", "printer.cfg"),
    "mend": ("mend", "printer.cfg", "--profile", "profile.ini"),
    "flow": ("flow", "printer.cfg", "--profile", "profile.ini", "--asked", "20mm3/s"),
    "page": ("report", "printer.cfg", "--profile", "profile.ini", "--html", "page.html"),
}
FEW = ("--draws", "100")  # for the page, which works out most
WHOLE_EVERY = 50  # of so many machines one has the page of all likely machines, with pictures


@dataclass
class Tally:
    """What a run over many machines came to."""

    codes: dict[str, Counter[int | None]] = field(default_factory=dict)
    faults: Counter[str] = field(default_factory=Counter)
    first: dict[str, int] = field(default_factory=dict)
    machines: int = 0  # tried whole

    def lines(self) -> Iterator[str]:
        """Yield the table."""
        yield f"{'command':<10}{'runs':>8}" + "".join(f"{f'exit {code}':>9}" for code in range(4))
        for name, codes in self.codes.items():
            counts = "".join(f"{codes[code]:>9}" for code in range(4))
            yield f"{name:<10}{codes.total():>8}{counts}"
        yield f"faults: {self.faults.total()}"
        for words, count in self.faults.most_common():
            yield f"  {count} times, first of machine {self.first[words]}: {words}"


def try_machines(first: int, count: int, seed: int, keep: Path | None = None) -> Tally:
    """Make machines `first` to `first + count` of a seed and run every command on each."""
    tally = Tally({name: Counter() for name in COMMANDS})
    with contextlib.suppress(KeyboardInterrupt):  # Ctrl-C ends the run, not the table
        for number in range(first, first + count):
            folder = keep or Path(tempfile.mkdtemp(prefix="damaged-"))
            folder.mkdir(exist_ok=True)
            make(folder, random.Random(f"{seed}-{number}"))
            _try_one(tally, number, folder)
            tally.machines += 1
            if keep is None:
                shutil.rmtree(folder)
    return tally


def _try_one(tally: Tally, number: int, folder: Path) -> None:
    whole = number % WHOLE_EVERY == 0
    for name, argv in COMMANDS.items():
        few = () if whole or name != "page" else FEW
        with mock.patch.object(pictures, "available", return_value=whole):
            ran = run((*argv, *few), folder)
        tally.codes[name][ran.code] += 1
        for fault in ran.faults:
            words = f"{name}: {fault.replace(str(folder), '')}"
            tally.faults[words] += 1
            tally.first.setdefault(words, number)


def study() -> int:
    """Print the table; the exit code is 1 where there was a fault."""
    options = argparse.ArgumentParser(description="Damaged configs through four commands.")
    options.add_argument("--count", type=int, default=10_000)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--keep", type=Path, help="leave the (last) machine in this folder")
    asked = options.parse_args()
    began = time.process_time()
    tally = try_machines(asked.first, asked.count, asked.seed, asked.keep)
    print(f"{tally.machines} machines from {asked.first} on, seed {asked.seed}:")
    print("\n".join(tally.lines()))
    print(f"{time.process_time() - began:.0f} s of CPU")
    return int(tally.faults.total() > 0)


if __name__ == "__main__":
    sys.exit(study())
