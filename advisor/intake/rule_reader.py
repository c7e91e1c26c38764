"""What the builders of compiled intake data share: places, known keys, words to choose from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from advisor.catalog import Catalog
from advisor.errors import DataError, InputError, near_miss
from advisor.units import Unit, parse_unit
from advisor.yamlread import Placed

__all__ = ["RuleReader"]

_CHOICES = {
    "type": ("number", "integer", "ratio", "flag"),
    "scope": ("extruder", "machine"),
    "status": ("found", "memory", "common-practice", "derived"),
}


class RuleReader:
    """Reads one data file; every mistake is an error with its place."""

    def __init__(self, placed: Placed, catalog: Catalog) -> None:
        self.placed = placed
        self.catalog = catalog

    def mapping(self, path: tuple[str, ...], known: Iterable[str] | None = None) -> dict[str, Any]:
        """Return the mapping at `path`, its keys and its words checked."""
        value: Any = self.placed.data
        for step in path:
            value = value.get(step)
        if not isinstance(value, dict):
            raise self.mistake(path, "must be a mapping", "write '{...}'")
        for key, choice in value.items():
            if known is not None and key not in known:
                hint = near_miss(key, known) or f"known are {', '.join(known)}"
                raise self.mistake((*path, key), "is no key of this", hint, key=True)
            if known is not None and key in _CHOICES and choice not in _CHOICES[key]:
                hint = near_miss(str(choice), _CHOICES[key]) or ", ".join(_CHOICES[key])
                raise self.mistake((*path, key), f"is '{choice}'", hint)
        return value

    def mistake(
        self, path: tuple[str, ...], problem: str, remedy: str, *, key: bool = False
    ) -> DataError:
        """Return the error that says what is wrong with the value, or the key, at `path`."""
        at = self.placed.key_at(*path) if key else self.placed.at(*path)
        thing = f"'{' '.join(path)}'" if path else "the entry"
        return DataError(f"{thing} {problem}", remedy or None, at)

    def ends(self, path: tuple[str, ...], value: Any) -> list[float]:
        """Return the two ends of the range at `path`."""
        ends = value if isinstance(value, list) else []
        numbers = [float(end) for end in ends if type(end) in (int, float)]
        if len(numbers) != 2 or not numbers[0] < numbers[1]:
            remedy = f"add '{path[-1]}: [lowest, highest]' that any machine could have"
            raise self.mistake(path, "is no range", remedy)
        return numbers

    def source(self, path: tuple[str, ...], row: Mapping[str, Any]) -> None:
        """Check that the mapping at `path` names a known source and a status."""
        for part in ("source", "status"):
            if row.get(part) is None:
                raise self.mistake(path, f"has no {part}", f"add '{part}:'")
        if row["source"] not in self.catalog.sources:
            hint = near_miss(str(row["source"]), self.catalog.sources) or "add it to sources.yaml"
            raise self.mistake((*path, "source"), f"is '{row['source']}', no source", hint)

    def unit(self, path: tuple[str, ...], fact: str, text: str) -> Unit:
        """Return the unit written at `path`; it must suit the fact."""
        try:
            unit, due = parse_unit(text), parse_unit(self.catalog.fact(fact).unit)
        except InputError as err:
            raise self.mistake(path, f"cannot be: {err.problem}", err.remedy or "") from None
        if unit.dimension != due.dimension or unit.kind != due.kind:
            due_text = self.catalog.facts[fact].unit
            raise self.mistake(path, f"is in '{text}', {fact} in '{due_text}'", "change the unit")
        return unit
