"""The numbers and steps of a session, read from rules/session/ into frozen records.

It knows the syntax of the two files, explained in each, and works nothing out.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.base import frozen, near_miss, parse_unit
from advisor.catalog import load_catalog
from advisor.data import Row, artifact

if TYPE_CHECKING:
    from advisor.data import Node

__all__ = [
    "ARTIFACTS", "FIGURES", "StepTexts", "bench_numbers", "build_bench", "session_cautions",
    "session_steps", "usual_materials",
]  # fmt: skip

FIGURES = (
    "temperature", "feed_length", "feed_flow", "feed_speed", "feed_off", "current", "case_soon",
    "case_later", "case_stop", "ramp_length", "ramp_from", "ramp_speed", "ramp_step",
    "ramp_speed_step", "ramp_to", "skip", "slip_first", "limit", "light_pieces", "light", "lag",
    "advance", "accel_line", "accel_most", "accel_set", "print_share", "cap", "cap_weighed",
    "rotation_distance", "run",
)  # fmt: skip
"""What the texts of a step may name; `steps` fills them in."""

_NUMBERS, _STEPS = "session/numbers.yaml", "session/steps.yaml"
_HOLE = re.compile(r"\{([^{}]*)\}")


@frozen
class StepTexts:
    """A step as it stands in the file; of several texts the first counts that can be filled in."""

    name: str
    do: tuple[str, ...]
    expect: tuple[str, ...]
    stop: tuple[str, ...]


@functools.cache
def bench_numbers(part: str) -> Mapping[str, float]:
    """Return the numbers of one part of rules/session/numbers.yaml in SI units, by name."""
    numbers: dict[str, float] = artifact("session", build_bench)["numbers"][part]
    return numbers


@functools.cache
def usual_materials() -> tuple[str, ...]:
    """Return the materials that are shown beside the machine's own."""
    return tuple(artifact("session", build_bench)["materials"])


@functools.cache
def session_steps() -> tuple[StepTexts, ...]:
    """Return the steps in their order."""
    rows = artifact("session", build_bench)["steps"]
    return tuple(
        StepTexts(row["name"], *(tuple(row[part]) for part in ("do", "expect", "stop")))
        for row in rows
    )


@functools.cache
def session_cautions() -> tuple[str, ...]:
    """Return what is told with every session."""
    return tuple(artifact("session", build_bench)["cautions"])


def build_bench() -> Row:
    """Return both files as JSON types: the artifact ``session``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import schema as s

    catalog = load_catalog()
    number = s.row(
        {"value": s.number(), "unit": s.unit(), **s.sourced(catalog.sources)}, {"about": s.text}
    )
    numbers = {
        "numbers": s.names(s.names(s.checked(number, _in_si))),
        "materials": s.listed(s.word(catalog.category("materials"), "material"), least=1),
    }
    one = s.checked(s.text, _filled)
    texts = s.either((list, s.listed(one, least=1)), (str, one))
    step = s.row({"name": s.text, **dict.fromkeys(("do", "expect", "stop"), texts)})
    steps = {
        "steps": s.listed(s.checked(step, _listed), least=1, first="name"),
        "cautions": s.listed(s.text, least=1),
    }
    return {**s.read_data(_NUMBERS, s.row(numbers)), **s.read_data(_STEPS, s.row(steps))}


def _in_si(_: Node, row: Row) -> float:
    return float(parse_unit(row["unit"]).to_si(row["value"]))


def _listed(_: Node, row: Row) -> Row:
    """Return a step with each text in a list."""
    return {name: [x] if isinstance(x, str) and name != "name" else x for name, x in row.items()}


def _filled(node: Node, text: str) -> str:
    """Hold the figures of a text to those that there are."""
    for name in _HOLE.findall(text):
        if name not in FIGURES:
            hint = near_miss(name, FIGURES) or f"known are {', '.join(FIGURES)}"
            raise node.wrong(f"names '{{{name}}}', no figure", hint)
    if re.search(r"[{}]", _HOLE.sub("", text)):
        raise node.wrong("has a brace that stands alone", "write {name}")
    return text


ARTIFACTS: Mapping[str, Callable[[], object]] = {"session": build_bench}
