"""The numbers and words of skip tests, read from rules/ into frozen records.

What a skip test shares with a weighed one (notes of the table, lines of the G-code) is read from
there. It computes nothing.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping

from advisor.data import Row, artifact
from advisor.weigh.weigh_data import TableWords, columns_of, load_words, read_numbers

__all__ = ["ARTIFACTS", "build_skip_data", "skip_numbers", "skip_words"]

_NUMBERS, _WORDS = "skip/test.yaml", "dialects/skip_test.yaml"


@functools.cache
def skip_numbers(part: str) -> Mapping[str, float]:
    """Return the numbers of one part of rules/skip/test.yaml in SI units, by name."""
    numbers: dict[str, float] = artifact("skip", build_skip_data)["numbers"][part]
    return numbers


@functools.cache
def skip_words() -> TableWords:
    """Return the words of the skip test; ``skipped`` says how a click was noticed."""
    data, common = artifact("skip", build_skip_data)["words"], load_words()
    return dataclasses.replace(
        common,
        columns=columns_of(data["columns"]),
        notes={**common.notes, **columns_of(data["notes"])},
        skipped={text: name for name, texts in data["seen"].items() for text in texts},
        gcode={**common.gcode, **data["gcode"]},
        cautions=tuple(data["cautions"]),
        stops=data["stops"],
    )


def build_skip_data() -> Row:
    """Return both files as JSON types: the artifact ``skip``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import schema as s

    texts = s.listed(s.text, least=1)
    told = {"unit": s.unit(), "title": s.text, "range": s.ends()}
    words = {
        "columns": s.names(s.row({"names": texts}, {**told, "needed": s.flag})),
        "notes": s.names(s.row({"names": texts}, told)),
        "seen": s.names(s.listed(s.string)),
        "gcode": s.names(s.text),
        "cautions": texts,
        "stops": s.names(s.text),
    }
    return {"numbers": read_numbers(_NUMBERS), "words": s.read_data(_WORDS, s.row(words))}


ARTIFACTS: Mapping[str, Callable[[], object]] = {"skip": build_skip_data}
