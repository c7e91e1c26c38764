"""What the builders of compiled intake data share: places, known keys, words to choose from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from advisor.catalog import Catalog, load_catalog
from advisor.errors import DataError, InputError, near_miss
from advisor.resources import read_text
from advisor.units import Unit, parse_unit
from advisor.yamlread import Placed, read_yaml

__all__ = ["RuleReader", "list_parts"]

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


def list_parts(file: str, *, what: str, first: str) -> list[RuleReader]:
    """Return a reader of each entry of a file under rules/ that is a list, its places kept.

    Parameters
    ----------
    file : str
        The file, below rules/.
    what : str
        What the entries are, for the sentence where the file is no list.
    first : str
        The key each entry begins with.

    Raises
    ------
    DataError
        If the file is no YAML, or no list.
    """
    try:
        placed = read_yaml(read_text("rules", file), f"rules/{file}")
    except InputError as err:
        raise DataError(err.problem, err.remedy, err.at) from None
    if not isinstance(placed.data, list):
        raise DataError(f"the {what} must be a list", f"write '- {first}: ...'", placed.at())
    return [_part(placed, number) for number in range(len(placed.data))]


def _part(placed: Placed, number: int) -> RuleReader:
    def below(places: Mapping[Any, Any]) -> dict[Any, Any]:
        return {path[1:]: at for path, at in places.items() if path[:1] == (number,)}

    part = Placed(placed.data[number], placed.file, below(placed.places), below(placed.key_places))
    return RuleReader(part, load_catalog())
