"""What a snapshot runs: every command on every sample, in every form it has.

Samples are found by what lies in their folders, so that a new one joins by itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

WIDTHS = (60, 80, 120)
_RATINGS = (
    ("1.0A",),
    ("1.5A", "--basis", "rms", "--driver", "tmc2209", "--sense-resistor", "0.11ohm"),
    ("2.8A", "--basis", "rms", "--driver", "tmc2208"),
    ("1.0A", "--basis", "peak", "--mount", "pla", "--ambient", "60degC"),
    ("1.0", "--mount", "clay"),
)
_ASKED = ("--asked", "12mm3/s")
_GEARS = ("--vary", "drive.gear_diameter=8mm..16mm:3")
_CURRENTS = (
    "--vary",
    "motor.class=round-36,square-42-short",
    "--vary",
    "motor.run_current=derated",
)
_DERIVED = ("flow.torque", "flow.capacity", "flow.melt", "motor.derated_current")


@dataclass(frozen=True)
class Case:
    """One run of the program: what it is called, its arguments, its input, the widths shown."""

    name: str
    arguments: tuple[str, ...]
    stdin: bytes = b""
    widths: tuple[int, ...] = (80,)


@dataclass(frozen=True)
class Sample:
    """A folder of the samples; paths stand as they are given to the program."""

    name: str
    configs: tuple[str, ...]  # printer.cfg first
    sheets: tuple[str, ...]
    profiles: tuple[str, ...]
    prints: tuple[str, ...]
    weighed: tuple[str, ...]
    kept: tuple[str, ...]
    skips: tuple[str, ...]


def cases(root: Path, rules: Path) -> Iterator[Case]:
    """Yield all cases.

    Parameters
    ----------
    root : Path
        The folder that ``samples/`` lies in.
    rules : Path
        The folder whose rules, facts and catalogue are explained.
    """
    for sample in samples(root):
        yield from _of_configs(sample)
        yield from _of_machine(sample)
        yield from _of_sheets(sample)
        yield from _of_profiles(sample)
        yield from _of_prints(sample)
        yield from _of_weighed(sample)
        yield from _of_skips(sample)
    yield from _without_machine(rules)
    yield from _wrong_usage()


def samples(root: Path) -> list[Sample]:
    """Return the folders that say what was planted in them, by name."""

    def found(folder: Path, *patterns: str) -> tuple[str, ...]:
        paths = {path for pattern in patterns for path in folder.glob(pattern)}
        return tuple(path.relative_to(root).as_posix() for path in sorted(paths))

    made = []
    for folder in sorted(path.parent for path in (root / "samples").rglob("planted.yaml")):
        configs = found(folder, "*.cfg")
        made.append(
            Sample(
                folder.relative_to(root / "samples").as_posix(),
                tuple(sorted(configs, key=lambda path: (not path.endswith("/printer.cfg"), path))),
                tuple(x for x in found(folder, "*.yaml") if not x.endswith("/planted.yaml")),
                found(folder, "*.ini", "*.json"),
                found(folder, "*.gcode"),
                tuple(x for x in found(folder, "*.csv") if "/skip-test" not in x),
                found(folder, "kept/*.csv"),
                found(folder, "skip-test*.csv"),
            )
        )
    return made


def _forms(name: str, *arguments: str, also: tuple[str, ...] = ("json",)) -> Iterator[Case]:
    """Yield the text at each width, then the other forms."""
    yield Case(name, arguments, widths=WIDTHS)
    for form in also:
        yield Case(f"{name}/{form}", (*arguments, "--format", form))


def _stem(path: str) -> str:
    return path.rsplit("/", 1)[-1]


def _of_configs(sample: Sample) -> Iterator[Case]:
    """Every config, whole or broken: findings, edits, the page."""
    for config in sample.configs:
        name = f"{sample.name}/{_stem(config)}"
        yield from _forms(f"{name}/lint", "lint", config, also=("json", "sarif"))
        yield Case(f"{name}/lint/all-told", ("lint", config, "--no-allow", "--fail-on", "note"))
        yield from _forms(f"{name}/mend", "mend", config)
        yield Case(f"{name}/mend/written", ("mend", config, "--write"))
        yield Case(f"{name}/page", ("report", config, "--html", "-"))


def _of_machine(sample: Sample) -> Iterator[Case]:
    """The first config of a sample, in all commands that ask about one machine."""
    config = sample.configs[0]
    name = f"{sample.name}/{_stem(config)}"
    yield Case(f"{name}/lint/coloured", ("lint", config, "--color", "always"))
    yield Case(f"{name}/lint/folder", ("lint", config.rsplit("/", 1)[0]))
    yield from _forms(f"{name}/flow", "flow", config, *_ASKED)
    yield Case(f"{name}/flow/nothing-asked", ("flow", config))
    yield from _forms(f"{name}/session", "session", config)
    yield Case(f"{name}/session/full", ("session", config, "--full"))
    yield from _forms(f"{name}/torque", "torque", config, *_ASKED)
    yield from _forms(f"{name}/grip", "grip", config)
    yield from _forms(f"{name}/compare", "compare", config, *_GEARS, also=("json", "csv"))
    yield Case(f"{name}/compare/currents", ("compare", config, *_CURRENTS, *_ASKED))
    yield from _forms(f"{name}/target", "compare", config, "--target", "20mm3/s")
    yield Case(f"{name}/target/sure", ("compare", config, "--target", "15mm3/s", "--sure", "90%"))
    yield from _forms(f"{name}/skip-test-plan", "skip-test", "plan", config)
    yield from _forms(f"{name}/weigh-plan", "weigh", "plan", config)
    files = ("--csv", "planned.csv", "--gcode", "planned.gcode")
    yield Case(f"{name}/weigh-plan/files", ("weigh", "plan", config, *files))
    yield Case(f"{name}/sheet", ("sheet", config))
    yield Case(f"{name}/sheet/file", ("sheet", config, "--material", "petg", "--out", "new.yaml"))
    parts = (
        ("--profile", sample.profiles),
        ("--print", sample.prints),
        ("--weighed", sample.weighed),
    )
    all_given = tuple(
        word for option, paths in parts for path in paths[:1] for word in (option, path)
    )
    if all_given:
        yield Case(f"{name}/page/all", ("report", config, *all_given, "--html", "-"))
    for fact in _DERIVED:
        yield Case(f"{name}/explain/{fact}", ("explain", fact, config))
    yield Case(f"{name}/explain/json", ("explain", _DERIVED[1], config, "--format", "json"))


def _of_sheets(sample: Sample) -> Iterator[Case]:
    """Each sheet in the place of the one beside the config, and all of them side by side."""
    config = sample.configs[0]
    for sheet in sample.sheets:
        name = f"{sample.name}/{_stem(sheet)}"
        yield from _forms(f"{name}/lint", "lint", config, "--sheet", sheet, also=("json", "sarif"))
        yield Case(f"{name}/mend", ("mend", config, "--sheet", sheet))
    if len(sample.sheets) > 1:
        asked = tuple(part for sheet in sample.sheets for part in ("--sheet", sheet))
        name = f"{sample.name}/sheets/compare"
        yield from _forms(name, "compare", config, *asked, also=("json", "csv"))


def _of_profiles(sample: Sample) -> Iterator[Case]:
    """What a slicer profile asks: flow, findings, torque, edits."""
    config = sample.configs[0]
    for profile in sample.profiles:
        name, asked = f"{sample.name}/{_stem(profile)}", (config, "--profile", profile)
        yield from _forms(f"{name}/flow", "flow", *asked)
        yield from _forms(f"{name}/lint", "lint", *asked, also=("json", "sarif"))
        yield Case(f"{name}/session", ("session", *asked))
        yield Case(f"{name}/torque", ("torque", *asked))
        yield Case(f"{name}/mend", ("mend", *asked))
        yield Case(f"{name}/mend/written", ("mend", *asked, "--write", "--write-profile"))


def _of_prints(sample: Sample) -> Iterator[Case]:
    """What a sliced print asks."""
    config = sample.configs[0]
    for path in sample.prints:
        name = f"{sample.name}/{_stem(path)}"
        yield from _forms(f"{name}/demand", "demand", path, "--config", config)
        yield Case(f"{name}/demand/file", ("demand", path, "--config", config, "--csv", "flow.csv"))
        yield Case(f"{name}/lint", ("lint", config, "--print", path))
        caps = ("--caps", "8..30mm3/s")
        yield from _forms(f"{name}/caps", "demand", path, "--config", config, *caps)
        page = ("report", config, "--print", path, *caps, "--html", "-")
        yield Case(f"{name}/caps/page", page)


def _of_weighed(sample: Sample) -> Iterator[Case]:
    """What a weighed test tells, and what other commands make of it."""
    config = sample.configs[0]
    for path in sample.weighed:
        name, test = f"{sample.name}/{_stem(path)}", (config, "--weighed", path)
        yield from _forms(f"{name}/weigh-read", "weigh", "read", path, "--config", config)
        yield from _forms(f"{name}/weigh-next", "weigh", "next", path, "--config", config)
        yield from _forms(f"{name}/lint", "lint", *test)
        yield Case(f"{name}/flow", ("flow", *test, *_ASKED))
        yield Case(f"{name}/session", ("session", *test, "--full"))
        yield Case(f"{name}/torque", ("torque", *test))
        yield Case(f"{name}/grip", ("grip", *test))
        yield Case(f"{name}/compare", ("compare", *test, *_GEARS))
        yield Case(f"{name}/weigh-plan", ("weigh", "plan", *test))
    for one, other in zip(sample.kept, sample.kept[1:], strict=False):
        name = f"{sample.name}/{_stem(one)}-{_stem(other)}/weigh-compare"
        both = ("weigh", "compare", one, other, "--config", config)
        yield from _forms(name, *both)
        yield Case(f"{name}/page", (*both, "--html", "compared.html"))


def _of_skips(sample: Sample) -> Iterator[Case]:
    """What a skip test tells, and what other commands make of it."""
    config = sample.configs[0]
    for path in sample.skips:
        name, test = f"{sample.name}/{_stem(path)}", (config, "--skip-test", path)
        yield from _forms(f"{name}/skip-test-read", "skip-test", "read", path, "--config", config)
        yield from _forms(f"{name}/flow", "flow", *test, *_ASKED)
        for command in ("lint", "torque", "grip", "session"):
            yield Case(f"{name}/{command}", (command, *test))
        yield Case(f"{name}/compare", ("compare", *test, *_GEARS))


def _without_machine(rules: Path) -> Iterator[Case]:
    """Ratings, explanations, help."""
    for rating in _RATINGS:
        yield from _forms(f"derate/{' '.join(rating)}", "derate", *rating)
    for name in _names(rules):
        yield Case(f"explain/{name}", ("explain", name))
    for command in ("", "lint", "derate", "flow", "mend", "demand", "weigh", "weigh plan",
                    "weigh next", "weigh read", "weigh compare", "skip-test",
                    "skip-test plan", "skip-test read", "session", "compare", "torque", "grip",
                    "sheet", "report", "explain"):  # fmt: skip
        yield Case(f"help/{command or 'all'}", (*command.split(), "--help"))
    yield Case("help/version", ("--version",))


def _names(rules: Path) -> list[str]:
    """Return the names of all rules, facts and catalogue entries, as the files spell them."""
    pattern = re.compile(r"^(?:- name: |)([a-z0-9][a-z0-9._-]*)(?:$|:)", re.MULTILINE)
    files = [*sorted(rules.glob("*.yaml")), *sorted(rules.glob("catalogue/*.yaml"))]
    files = [path for path in files if path.name != "sources.yaml"]
    return sorted({name for path in files for name in pattern.findall(path.read_text("utf-8"))})


def _wrong_usage() -> Iterator[Case]:
    """What cannot be done is said in a sentence; other streams and files."""
    healthy = "samples/healthy/printer.cfg"
    for arguments in (
        (), ("lint",), ("lint", "gone.cfg"), ("lint", healthy, "--asked", "fast"), ("lnt", healthy),
        ("flow", healthy, "--profile", "gone.ini"), ("explain", "flow.torqe"),
        ("compare", healthy), ("compare", healthy, "--vary", "nozzle.diametre=1mm"),
        ("demand", "gone.gcode", "--config", healthy), ("mend", healthy, "--undo"),
        ("weigh", "read", healthy, "--config", healthy), ("sheet", healthy, "--out", healthy),
        ("report", healthy, "--html", healthy), ("torque", healthy, "--material", "cheese"),
    ):  # fmt: skip
        yield Case(f"wrong/{' '.join(arguments) or 'nothing'}".replace("samples/", ""), arguments)
    page = ("report", healthy, "--html", "page.html", "--fail-on", "note")
    yield Case("healthy/page/file", page)
    text = b"[extruder]\nrotation_distance: 22.6\n"
    yield Case("stdin/lint", ("lint", "-"), stdin=text)
    yield Case("stdin/lint/json", ("lint", "-", "--format", "json"), stdin=text)
