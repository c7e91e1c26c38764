"""Numbers at the edges of what each setting may be, through every formula: does numpy complain?

    python tests/studies/range_edges.py [--pairs 10] [--first 0] [--count N]

Every setting of the dialect that has a range is put at either end, and all pairs of ends of the
settings that matter most. Each machine is worked out with its limits, its curves and its grip
where overflow, division by zero and what is no number are errors; a number too small to be told
from 0 is none. All machines are invented.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from advisor.answers.asks import Asks
from advisor.answers.curves.force import force_report
from advisor.answers.curves.grip import grip_report
from advisor.answers.curves.torque import torque_report
from advisor.answers.lint import check_config
from advisor.catalog import load_catalog
from advisor.inputs.dialect import load_dialect

CONFIG = (ROOT / "samples" / "healthy" / "printer.cfg").read_text()
HEADS = {
    "extruder": "[extruder]", "driver": "[tmc2209 extruder]", "printer": "[printer]",
    "retraction": "[firmware_retraction]",
}  # fmt: skip
IMPORTANT = (
    "rotation_distance", "nozzle_diameter", "filament_diameter", "gear_ratio", "run_current",
    "full_steps_per_rotation", "microsteps", "max_extrude_only_velocity", "max_accel",
    "sense_resistor",
)  # fmt: skip
Setting = tuple[str, str, str]  # header, key, text


def edges(only: tuple[str, ...] = ()) -> dict[str, list[Setting]]:
    """Return both ends of each setting's range, as it would be written."""
    found: dict[str, list[Setting]] = {}
    for role in load_dialect().roles.values():
        for key in role.keys.values():
            if key.range is None or role.name not in HEADS or (only and key.name not in only):
                continue
            texts = [f"{end:.12g}" for end in (key.range.low, key.range.high)]
            if key.type == "ratio":
                texts = [f"{text}:1" for text in texts]
            head = HEADS[role.name]
            found.setdefault(key.name, [(head, key.name, text) for text in texts])
    return found


def machines(pairs: int) -> Iterator[tuple[Setting, ...]]:
    """Yield what is set: one setting at an end, then two of the important ones."""
    for ends in edges().values():
        yield from ((end,) for end in ends)
    matter = list(edges(IMPORTANT[:pairs]).values())
    for first, second in itertools.combinations(matter, 2):
        yield from itertools.product(first, second)


def config_with(settings: tuple[Setting, ...]) -> str:
    """Return the config with these settings last in it, so that they count."""
    return CONFIG + "".join(f"\n{head}\n{key}: {text}\n" for head, key, text in settings)


def complaint(text: str, folder: Path) -> str:
    """Return what a formula complains of, with its place; nothing where all is well."""
    path = folder / "printer.cfg"
    path.write_text(text)
    try:
        with np.errstate(over="raise", divide="raise", invalid="raise"):
            checked = check_config(path, Asks())
            titles = {name: fact.title for name, fact in load_catalog().facts.items()}
            for name in checked.books:
                force_report(name, checked.books[name], titles)
                torque_report(checked, name)
                grip_report(checked, name)
    except ArithmeticError as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"{error} ({Path(last.filename).name}:{last.lineno}, {last.name})"
    return ""


def try_edges(chosen: list[tuple[Setting, ...]]) -> Counter[str]:
    """Return the complaints of these machines, counted by place."""
    told: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for settings in chosen:
            words = complaint(config_with(settings), Path(folder))
            if words and words not in told:
                print(
                    "; ".join(f"{key}: {text}" for _, key, text in settings),
                    "->",
                    words,
                    flush=True,
                )
            told[words] += 1
    return told


def study() -> int:
    """Print the complaints; the exit code is 1 where there was one."""
    options = argparse.ArgumentParser(description="Edges of ranges through every formula.")
    options.add_argument("--pairs", type=int, default=10, help="of so many settings")
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=None)
    asked = options.parse_args()
    every = list(machines(asked.pairs))
    end = None if asked.count is None else asked.first + asked.count
    told = try_edges(every[asked.first : end])
    well = told.pop("", 0)
    print(f"{well + told.total()} of {len(every)} machines, {well} without a complaint")
    for words, count in told.most_common():
        print(f"  {count} times: {words}")
    return int(told.total() > 0)


if __name__ == "__main__":
    sys.exit(study())
