"""Another build of a machine that was weighed: what the tests told holds for it where it can.

What a class of hardware or a filament settles is drawn anew where another one stands in the place
of the one that was weighed; all else is drawn from the machines that the tests left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from advisor.base import Fact, OriginKind, frozen
from advisor.inputs import load_fields
from advisor.machine.assemble import ExtruderInputs
from advisor.machine.ensemble import Ensemble, plausible
from advisor.machine.graph import FactBook

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["OWNED", "WeighedBench", "bench_of", "classes_of", "renewed", "stated_classes"]

OWNED = {  # what a class of hardware or a filament sets: the beginning of its inputs' names
    "filament.material": "material.",
    "motor.class": "motor.",
    "drive.class": "drive.",
    "hotend.class": "hotend.",
}
_CLASSES = (
    "motor.class",
    "drive.class",
    "hotend.class",
    "hotend.insert",
    "drive.mount",
    "filament.material",
)


@frozen(eq=False)
class WeighedBench:
    """What weighed tests left of the likely machines, and the classes of the machine weighed."""

    ensemble: Ensemble
    classes: Mapping[str, str]
    made: dict[tuple[str, ...], Ensemble] = field(default_factory=dict)

    def drawn_for(self, classes: Mapping[str, str]) -> Ensemble:
        """Return the likely machines of a build: what another class settles is drawn anew."""
        foreign = tuple(
            start for fact, start in OWNED.items() if classes.get(fact) != self.classes[fact]
        )
        if not foreign:
            return self.ensemble
        if foreign not in self.made:
            self.made[foreign] = self._without(foreign)
        return self.made[foreign]

    def _without(self, foreign: tuple[str, ...]) -> Ensemble:
        weighed, anew = self.ensemble, plausible(self.ensemble.size)

        def draw(name: str) -> NDArray[np.float64]:
            return (anew if name.startswith(foreign) else weighed).quantiles(name)

        return Ensemble(weighed.size, draw)


def bench_of(book: FactBook, ensemble: Ensemble | None) -> WeighedBench | None:
    """Return the bench on which a machine was weighed; None where it was not."""
    if ensemble is None:
        return None
    return WeighedBench(ensemble, classes_of(book.facts) or {})


def classes_of(facts: Mapping[str, Fact]) -> Mapping[str, str] | None:
    """Return the classes and the filament of a machine; None where one of them is not known."""
    found = {name: text for name in OWNED if name in facts and (text := facts[name].text)}
    return found if len(found) == len(OWNED) else None


def stated_classes(book: FactBook) -> dict[str, Fact]:
    """Return the classes of a machine, the assumed ones too, to be stated of another build."""
    return {name: book.facts[name] for name in _CLASSES if book.known(name)}


def renewed(inputs: ExtruderInputs, field: str) -> frozenset[str]:
    """Return the facts that the sheet states of a thing that another one takes the place of.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the machine.
    field : str
        The field of the sheet that is changed, such as ``motor.class``.
    """
    fields = load_fields()
    paths = fields.renews.get(field, ())

    def inside(name: str) -> bool:
        return any(name == path or name.startswith(f"{path}.") for path in paths)

    stated = (inputs.stated.get(f.fact) for name, f in fields.fields.items() if inside(name))
    return frozenset(
        fact.name
        for fact in stated
        if fact
        and fact.origin.kind in (OriginKind.SHEET, OriginKind.COMMAND)
        and (fact.origin.setting in fields.fields)
    )
