"""Another build of a machine that was weighed: what the tests told holds for it where it can.

What a class of hardware or a filament settles is drawn anew where another one stands in the place
of the one that was weighed; all else is drawn from the machines that the tests left.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from advisor.catalog import Catalog
from advisor.facts.assemble import ExtruderInputs, build_facts
from advisor.facts.ensemble import drawn
from advisor.facts.graph import FactBook
from advisor.facts.weighed_draw import Batch, Draw
from advisor.facts.weighed_pool import OWNED
from advisor.frozen import frozen
from advisor.intake.sheet_fields import load_fields
from advisor.model import Fact, OriginKind

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["WeighedBench", "bench_of", "facts_of", "keeping_classes", "renewed"]

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

    draw: Draw
    classes: Mapping[str, str]


def bench_of(book: FactBook, draw: Draw | None) -> WeighedBench | None:
    """Return the bench on which a machine was weighed; None where it was not."""
    if draw is None:
        return None
    return WeighedBench(draw, {fact: str(book.samples(fact)) for fact in OWNED})


def keeping_classes(inputs: ExtruderInputs, book: FactBook) -> dict[str, Fact]:
    """Return what is stated of a machine, and its classes, the assumed ones too.

    So that two builds differ in their change alone: it must not suggest another class.
    """
    kept = {name: book.facts[name] for name in _CLASSES if book.known(name)}
    return {**inputs.stated, **kept}


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
    return frozenset(f.name for f in stated if f and f.origin.kind is OriginKind.SHEET)


def facts_of(inputs: ExtruderInputs, catalog: Catalog, bench: WeighedBench | None) -> FactBook:
    """Return all facts, drawn from the machines that weighed tests left.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the other build.
    catalog : Catalog
        What is assumed for the rest.
    bench : WeighedBench or None
        Where the machine was weighed; None where it was not.
    """
    plain = build_facts(inputs, catalog)
    if bench is None:
        return plain
    foreign = tuple(
        start for fact, start in OWNED.items() if str(plain.samples(fact)) != bench.classes[fact]
    )
    anew = Batch(0)

    def quantiles(name: str) -> NDArray[np.float64]:
        return (anew if name.startswith(foreign) else bench.draw).quantiles(name)

    with drawn(quantiles):
        return build_facts(inputs, catalog)
