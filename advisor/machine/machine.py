"""A machine that can be asked "and if?": the facts of one extruder over one ensemble.

A machine never changes. One with something changed is worked out by the same steps as a fresh one,
and shares with it every fact that does not lie downstream of the change.

What tests told of a weighed machine holds for another build of it where it can: what a class of
hardware or a filament settles is drawn anew where another one stands in the place of the one that
was weighed; all else is drawn from the machines that the tests left.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import field
from typing import TYPE_CHECKING, TypeAlias, TypeVar

from advisor.base import Fact, LimitBand, Origin, OriginKind, Raw, State, frozen
from advisor.catalog import Catalog
from advisor.inputs import Measurement, load_fields
from advisor.machine.assemble import ExtruderInputs, build_facts
from advisor.machine.ensemble import Ensemble, nominal_of, plausible
from advisor.machine.graph import FactBook, Memory, first_of
from advisor.machine.summary import bottleneck, limit_bands

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = [
    "OWNED",
    "Change",
    "Machine",
    "WeighedBench",
    "bench_of",
    "classes_of",
    "machine_of",
    "renewed",
    "stated_classes",
]

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
_ORIGIN = Origin(OriginKind.COMMAND)


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


Change: TypeAlias = "Fact | Raw"
"""What a fact is set to, in SI units; None: nobody states it any more."""

_T = TypeVar("_T")


@frozen(eq=False)
class Machine:
    """One extruder worked out; made by `machine_of`.

    Attributes
    ----------
    inputs : ExtruderInputs
        What is stated for it.
    catalog : Catalog
        What is assumed for the rest.
    book : FactBook
        Its facts.
    bench : WeighedBench or None
        Where weighed tests were done on it, or on the machine it is another build of.
    """

    inputs: ExtruderInputs
    catalog: Catalog
    book: FactBook
    bench: WeighedBench | None = None

    @property
    def ensemble(self) -> Ensemble:
        """The machines it stands for."""
        return self.book.ensemble

    @property
    def facts(self) -> Mapping[str, Fact]:
        """All its facts, by name."""
        return self.book.facts

    def fact(self, name: str) -> Fact:
        """Return a fact; one that nothing gives is missing.

        Raises
        ------
        InputError
            If there is no such fact; names the closest one.
        """
        found = self.book.facts.get(name)
        if found is not None:
            return found
        return Fact(self.catalog.fact(name).name, state=State.MISSING)

    def limits(self) -> tuple[LimitBand, ...]:
        """Return the flow limits in mm3/s with their bands."""
        return limit_bands(self.book.facts)

    def bottleneck(self) -> tuple[str | None, tuple[str, ...]]:
        """Return the lowest limit, and those about level with it."""
        return bottleneck(self.limits())

    def told(self, question: str, make: Callable[[Machine], _T]) -> _T:
        """Return what `make` tells of the machine, or told of one that is alike.

        Alike are machines of which the same is stated in the same words, wherever it stands: of
        the extruders of a tool changer it is worked out once. No place may stand in the answer.

        Parameters
        ----------
        question : str
            What `make` tells, in a word.
        make : callable
            Gives the answer for a machine.
        """
        stated, uses = _likeness(self)
        key = (question, stated, id(self.catalog), id(self.ensemble), id(self.bench))
        uses = (uses, self.catalog, self.ensemble, self.bench)
        return self.book.memory.answer(key, uses, lambda: make(self))

    def with_(
        self,
        changes: Mapping[str, Change],
        *,
        origin: Origin = _ORIGIN,
        measured: Mapping[str, Measurement] | None = None,
        wanted: Iterable[str] | None = None,
    ) -> Machine:
        """Return the machine with facts stated otherwise; only what lies downstream is new.

        Parameters
        ----------
        changes : mapping of str to Change
            What is set to what, in SI units; None takes back what is stated.
        origin : Origin
            Who states it.
        measured : mapping, optional
            The measurements that hold; as before where not given.
        wanted : iterable of str, optional
            The facts asked for, if not all: what only others need is left out.

        Raises
        ------
        InputError
            If there is no such fact; names the closest one.
        """
        inputs = self._changed(changes, origin)
        if measured is not None:
            inputs = dataclasses.replace(inputs, measured=measured)
        return self.stating(inputs, wanted=wanted)

    def _changed(self, changes: Mapping[str, Change], origin: Origin) -> ExtruderInputs:
        stated = dict(self.inputs.stated)
        for name, value in changes.items():
            unit = self.catalog.fact(name).unit
            stated.pop(name, None)
            if value is not None:
                made = Fact.of(name, unit, value, origin=origin)
                stated[name] = self.book.memory.same(made)
        return dataclasses.replace(self.inputs, stated=stated)

    def stating(self, inputs: ExtruderInputs, *, wanted: Iterable[str] | None = None) -> Machine:
        """Return another machine of the family, of which something else is stated."""
        return _made(inputs, self, wanted)

    def keeping_classes(self, wanted: Iterable[str] | None = None) -> Machine:
        """Return the machine with its classes stated, the assumed ones too.

        So that two builds differ in their change alone: it must not suggest another class.
        """
        return self.stating(self._with_classes(), wanted=wanted)

    def _with_classes(self) -> ExtruderInputs:
        stated = {**self.inputs.stated, **stated_classes(self.book)}
        return dataclasses.replace(self.inputs, stated=stated)

    def begun(self) -> Machine:
        """Return the nominal machine alone, its classes stated and none of its facts worked out.

        What works out many builds of it in one pass (`swept`, `side_by_side`) begins from what is
        stated: the facts of the one it begins from would be worked out for nothing.
        """
        inputs, bench = self._with_classes(), self.bench
        ensemble = self.ensemble if bench is None else _drawn(inputs, self, bench)
        book = FactBook(self.book.units, {}, nominal_of(ensemble), self.book.memory)
        return Machine(_nominal(inputs), self.catalog, book)

    def restated(self, changes: Mapping[str, Change]) -> Machine:
        """Return a machine that is `begun` with facts stated otherwise."""
        return dataclasses.replace(self, inputs=self._changed(changes, _ORIGIN))

    def on(self, ensemble: Ensemble, *, wanted: Iterable[str] | None = None) -> Machine:
        """Return the same machine over other machines, without what weighed tests told."""
        book = build_facts(
            self.inputs, self.catalog, ensemble, memory=self.book.memory, wanted=_names(wanted)
        )
        return Machine(self.inputs, self.catalog, book)

    def plain(self) -> Machine:
        """Return the machine without what weighed tests told of it."""
        return self if self.bench is None else self.on(plausible(self.ensemble.size))

    def nominal(self, wanted: Iterable[str] | None = None) -> Machine:
        """Return the nominal machine alone, an ensemble of one."""
        plain = dataclasses.replace(self, inputs=_nominal(self.inputs))
        return plain.on(nominal_of(self.ensemble), wanted=wanted)

    def weighed_on(self, ensemble: Ensemble) -> Machine:
        """Return the machine over those that weighed tests on it left."""
        made = self.on(ensemble)
        return dataclasses.replace(made, bench=bench_of(made.book, ensemble))

    def benched(self, bench: WeighedBench | None) -> Machine:
        """Return the machine as another build of one that was weighed."""
        if bench is None:
            return self
        return _made(self.inputs, dataclasses.replace(self, bench=bench), None)


def machine_of(
    inputs: ExtruderInputs,
    catalog: Catalog,
    ensemble: Ensemble | None = None,
    memory: Memory | None = None,
) -> Machine:
    """Return one extruder worked out.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated for it.
    catalog : Catalog
        What is assumed for the rest.
    ensemble : Ensemble, optional
        The machines it stands for: the plausible ones where not given.
    memory : Memory, optional
        What machines that were worked out before were made of: what is stated again is shared.
    """
    if memory is not None:
        stated = {name: memory.same(fact) for name, fact in inputs.stated.items()}
        inputs = dataclasses.replace(inputs, stated=stated)
    made = build_facts(inputs, catalog, ensemble, memory=memory or Memory())
    return Machine(inputs, catalog, made)


def _likeness(machine: Machine) -> tuple[Hashable, object]:
    """Return all that is stated of a machine but the places, and what the ids in it are of.

    One that was measured or weighed is like itself alone.
    """
    inputs = machine.inputs
    if inputs.measured or machine.bench is not None:
        return id(inputs), inputs
    stated = tuple(_placeless(name, fact) for name, fact in inputs.stated.items())
    defaults = tuple((name, id(default)) for name, default in inputs.defaults.items())
    return (stated, defaults, inputs.incomplete), tuple(inputs.defaults.values())


def _placeless(name: str, fact: Fact) -> Hashable:
    origin, at_home = fact.origin, fact.home is not None
    words = (origin.kind, origin.source, origin.setting, origin.text)
    return name, fact.value, fact.state, fact.trace, at_home, words


def _made(inputs: ExtruderInputs, like: Machine, wanted: Iterable[str] | None) -> Machine:
    ensemble = like.ensemble if like.bench is None else _drawn(inputs, like, like.bench)
    book = build_facts(
        inputs, like.catalog, ensemble, memory=like.book.memory, wanted=_names(wanted)
    )
    return Machine(inputs, like.catalog, book, like.bench)


def _drawn(inputs: ExtruderInputs, like: Machine, bench: WeighedBench) -> Ensemble:
    """Return the likely machines of another build, by the classes it has without any test."""
    classes = classes_of(inputs.stated)
    if classes is None:
        anew = plausible(bench.ensemble.size)
        plain = build_facts(inputs, like.catalog, anew, memory=like.book.memory)
        classes = classes_of(plain.facts)
    return bench.drawn_for(classes or {})


def _nominal(inputs: ExtruderInputs) -> ExtruderInputs:
    """Return what is stated, of the nominal machine alone."""
    stated = {name: first_of(fact) for name, fact in inputs.stated.items()}
    return dataclasses.replace(inputs, stated=stated)


def _names(wanted: Iterable[str] | None) -> frozenset[str] | None:
    return None if wanted is None else frozenset(wanted)
