"""All settings of the profiles given together, and what the value of one key is.

Of a setting that two profiles state, the one given later counts, and the difference is told.
The value of a key is worked out once: list element, share of another key, "automatic", or why
there is none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

from advisor.base import Event, Origin, OriginKind, State, frozen
from advisor.inputs.profile.dialects import Known, ProfileDialect
from advisor.inputs.profile.door import plain
from advisor.inputs.profile.parents import OpenParent, Resolved
from advisor.inputs.profile.records import ProfileSetting
from advisor.inputs.profile.texts import Shape, classify, is_on

__all__ = ["NOZZLE", "PresetPool", "Value", "conflicts", "live_settings", "stated"]


_SHOWN = 4  # settings in a sentence


def live_settings(member: Resolved) -> dict[str, ProfileSetting]:
    """Return the settings that the profile's dialect knows, by the key's first spelling."""
    live: dict[str, ProfileSetting] = {}
    for spelling, key in member.dialect.spellings.items():
        if spelling in member.settings:
            live.setdefault(key, member.settings[spelling])
    return live


def conflicts(members: Sequence[Resolved]) -> Iterator[Event]:
    """Yield one event for each two profiles of one dialect that differ in a setting."""
    for first, second in combinations(members, 2):
        before, after = live_settings(first), live_settings(second)
        pairs = [(before[key], after[key]) for key in after if key in before]
        pairs = [(old, new) for old, new in pairs if old.items != new.items]
        if pairs:
            yield _event(first.preset.name, second.preset.name, pairs)


def _event(
    first: str, second: str, pairs: Sequence[tuple[ProfileSetting, ProfileSetting]]
) -> Event:
    old, new = pairs[0]
    keys = [setting.key for _, setting in pairs]
    more = f" and {len(keys) - _SHOWN} more" if len(keys) > _SHOWN else ""
    fields = {
        "first": first,
        "second": second,
        "setting": new.key,
        "settings": ", ".join(keys[:_SHOWN]) + more,
        "old": plain(old.text),
        "new": plain(new.text),
    }
    return Event("profile-conflict", new.at, fields)


NOZZLE = "profile.nozzle_diameter"
_DEEPEST = 8  # shares of shares
_NEGATIVE = "it is negative"
_NO_BASE = "it is a share, and of what is not known"


@frozen
class Value:
    """The value of a key: SI number, text or switch if known; else its state and why.

    ``parent`` is the missing parent that may state it, or may state it otherwise.
    """

    state: State
    si: float | str | bool | None = None
    setting: ProfileSetting | None = None
    parent: OpenParent | None = None

    @property
    def number(self) -> float | None:
        """The value if it is a known number."""
        known = self.state is State.KNOWN and isinstance(self.si, float)
        return float(self.si) if known and self.si is not None else None

    @property
    def origin(self) -> Origin:
        """Where it is stated, or where the parent is named that may state it."""
        parent = self.parent if self.state is State.UNKNOWN else None
        setting = parent.setting if parent else self.setting
        if setting is None:
            return Origin(OriginKind.PROFILE)
        text = parent.name if parent else setting.text
        return Origin(OriginKind.PROFILE, setting.at, setting=setting.key, text=plain(text))


def stated(value: Value) -> bool:
    """Whether the value is known."""
    return value.state is State.KNOWN


@dataclass(slots=True)
class PresetPool:
    """The settings of all profiles in one dialect.

    Parameters
    ----------
    dialect : ProfileDialect
        The dialect they share.
    members : sequence of Resolved
        The profiles, in the order given.
    tool : int
        Which extruder, from 0.
    nozzle : float, optional
        Nozzle diameter to take a share of where no profile states one, [m].
    """

    dialect: ProfileDialect
    members: Sequence[Resolved]
    tool: int = 0
    nozzle: float | None = None
    events: list[Event] = field(default_factory=list)
    settings: dict[str, ProfileSetting] = field(default_factory=dict)
    open: dict[str, OpenParent] = field(default_factory=dict)
    _values: dict[str, Value] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.events += conflicts(self.members)
        for member in self.members:
            self.settings.update(live_settings(member))
            for parent in member.open:
                for kind in member.kinds:
                    self.open.setdefault(kind, parent)

    def value(self, key: str, depth: int = 0) -> Value:
        """Return the value of a key of this dialect."""
        if key not in self._values:
            self._values[key] = self._work_out(self.dialect.settings[key], depth)
        return self._values[key]

    def first(self, keys: Sequence[str]) -> Value:
        """Return the first value there is; what is not known or not readable ends the search."""
        value = Value(State.MISSING)
        for key in keys:
            found = self.value(key)
            if found.state is State.UNKNOWN and self.dialect.absent_follows:
                value = found
            elif found.state is not State.MISSING:
                return replace(found, parent=found.parent or value.parent)
            elif value.setting is None and value.parent is None:
                value = found
        return value

    def extreme(self, keys: Sequence[str], *, largest: bool) -> Value:
        """Return the smallest or largest known value, else the most telling state."""
        values = [self.value(key) for key in keys]
        numbers = [(value.number, value) for value in values if value.number is not None]
        if numbers:
            pick = max if largest else min
            return pick(numbers, key=lambda pair: pair[0])[1]
        for state in (State.UNREADABLE, State.UNKNOWN):
            for value in values:
                if value.state is state:
                    return value
        return next((value for value in values if value.setting), Value(State.MISSING))

    def _work_out(self, known: Known, depth: int) -> Value:
        setting = self.settings.get(known.key)
        if setting is None:
            parent = self.open.get(known.of)
            return Value(State.UNKNOWN, parent=parent) if parent else Value(State.MISSING)
        text = self._element(known, setting)
        if known.type == "number":
            return self._number(known, setting, text, depth)
        if known.type == "switch":
            on = is_on(text)
            if on is None:
                return self._unreadable(setting, text, "it is neither on nor off")
            return Value(State.KNOWN, on, setting)
        shape, _ = classify(text)
        empty = shape is Shape.NOTHING
        return Value(State.MISSING, None, setting) if empty else Value(State.KNOWN, text, setting)

    def _element(self, known: Known, setting: ProfileSetting) -> str:
        """Return the element of a list that counts for this extruder."""
        items = setting.items
        if known.key in self.dialect.start_keys:
            return setting.text
        if not items:
            return ""
        if known.modes:
            return items[0]
        if self.tool >= len(items):
            fields = {
                "setting": setting.key,
                "count": str(len(items)),
                "extruder": str(self.tool + 1),
                "taken": plain(items[0]),
            }
            self.events.append(Event("profile-list-short", setting.at, fields))
            return items[0]
        if known.of == "filament" and len(set(items)) > 1 and self._nozzles() < len(items):
            self._tell_choice(setting)
        return items[self.tool]

    def _tell_choice(self, setting: ProfileSetting) -> None:
        """Tell, once, that one of several filaments was taken."""
        if any(event.kind == "profile-list-choice" for event in self.events):
            return
        fields = {
            "setting": setting.key,
            "values": plain(setting.text),
            "taken": plain(setting.items[self.tool]),
            "index": str(self.tool + 1),
        }
        self.events.append(Event("profile-list-choice", setting.at, fields))

    def _nozzles(self) -> int:
        """Return for how many nozzles the profiles are, 1 if they do not say."""
        keys = self._keys_of(NOZZLE)
        return max(
            (len(self.settings[key].items) for key in keys if key in self.settings), default=1
        )

    def _keys_of(self, fact: str) -> Sequence[str]:
        return next((entry.keys for entry in self.dialect.facts if entry.name == fact), ())

    def _number(self, known: Known, setting: ProfileSetting, text: str, depth: int) -> Value:
        shape, number = classify(text)
        if shape in (Shape.NOTHING, Shape.OFF):
            return Value(State.MISSING, None, setting)
        if shape in (Shape.EXPRESSION, Shape.WORDS):
            return self._unreadable(setting, text, f"it is {shape.value}")
        if number in known.unset and shape is Shape.NUMBER:
            return Value(State.MISSING, None, setting)
        if number < 0 and known.negative_percent and shape is Shape.NUMBER:
            shape, number = Shape.PERCENT, -number
        if number < 0 and known.unit.kind != "point":
            return self._unreadable(setting, text, _NEGATIVE)
        if shape is Shape.PERCENT or (known.unit.symbol == "%" and known.percent_of):
            return self._share(known, setting, text, number / 100.0, depth)
        return self._plain(known, setting, text, number)

    def _plain(self, known: Known, setting: ProfileSetting, text: str, number: float) -> Value:
        """Return a number in SI, if it is one that a machine could have."""
        if known.range is not None and number not in known.range:
            words = known.range.words(known.unit.symbol)
            return self._unreadable(setting, text, f"it could be {words} on any machine")
        return Value(State.KNOWN, float(known.unit.to_si(number)), setting)

    def _share(
        self, known: Known, setting: ProfileSetting, text: str, share: float, depth: int
    ) -> Value:
        if not known.percent_of:
            if known.unit.dimension.is_number:
                return Value(State.KNOWN, share, setting)
            return self._unreadable(setting, text, _NO_BASE)
        base = self._base(known, depth)
        if base.number is None:
            fields = {"setting": setting.key, "text": plain(text), "of": known.percent_of[0]}
            self.events.append(Event("profile-share-open", setting.at, fields))
            return Value(base.state, None, setting, base.parent)
        if share == 0.0:
            return Value(State.MISSING, None, setting)
        return Value(State.KNOWN, share * base.number, setting)

    def _base(self, known: Known, depth: int) -> Value:
        """Return what a share is of; the caller's nozzle stands in for an unknown one."""
        keys = known.percent_of if depth < _DEEPEST else ()
        values = [self.value(key, depth + 1) for key in keys]
        if known.percent_of_largest:
            value = self.extreme(keys, largest=True)
        else:
            value = next((v for v in values if v.state is not State.MISSING), Value(State.MISSING))
        if value.number is None and self.nozzle is not None and self._is_nozzle(known.percent_of):
            return Value(State.KNOWN, self.nozzle)
        return value

    def _is_nozzle(self, keys: Sequence[str]) -> bool:
        return set(keys) <= set(self._keys_of(NOZZLE))

    def _unreadable(self, setting: ProfileSetting, text: str, why: str) -> Value:
        fields = {"setting": setting.key, "text": plain(text), "reason": why}
        self.events.append(
            Event("profile-value-unreadable", setting.at, fields, self._fact(setting))
        )
        return Value(State.UNREADABLE, None, setting)

    def _fact(self, setting: ProfileSetting) -> str | None:
        """Return the fact that a setting would have stated."""
        key = self.dialect.spellings.get(setting.key)
        return next((entry.name for entry in self.dialect.facts if key in entry.keys), None)
