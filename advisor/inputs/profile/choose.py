"""Chooses the presets of one file that make the ask; it never guesses between several.

One preset is taken as it is. Of a bundle the presets named by the caller are taken; else the
only print and the only filament preset; else the names are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from advisor.base import Event, ProfileError, Span, near_miss
from advisor.inputs.profile.door import plain
from advisor.inputs.profile.records import Preset
from advisor.inputs.profile.source import ProfileSource

__all__ = ["Kinds", "check_names", "choose_presets"]

Kinds = Callable[[Preset], frozenset[str]]
_ASKING = ("print", "filament")
_SHOWN = 8  # names in a sentence


def choose_presets(source: ProfileSource, wanted: Sequence[str], kinds: Kinds) -> list[Preset]:
    """Return the presets of `source` that count.

    Parameters
    ----------
    source : ProfileSource
        A file; an event is added where presets are left out.
    wanted : sequence of str
        Names, or ``kind:name``, given by the caller.
    kinds : callable
        The kinds of a preset.

    Raises
    ------
    ProfileError
        If several presets could be meant.
    """
    if len(source.presets) == 1:
        return list(source.presets)
    concrete = [preset for preset in source.presets if not preset.abstract] or source.presets
    named = [preset for preset in source.presets if _is_named(preset, wanted, kinds)]
    if named:
        return _with_only_ones(named, concrete, kinds)
    complete = [preset for preset in concrete if kinds(preset).issuperset(_ASKING)]
    if len(complete) == 1:
        return _told(source, complete, concrete)
    counts = [sum(kind in kinds(preset) for preset in concrete) for kind in _ASKING]
    lone = _with_only_ones([], concrete, kinds)
    if max(counts) > 1 or any(not kinds(preset) for preset in concrete) or not lone:
        raise _several(source, concrete, kinds)
    return _told(source, lone, concrete)


def _is_named(preset: Preset, wanted: Sequence[str], kinds: Kinds) -> bool:
    return any(name in _names(preset, kinds) for name in wanted)


def _names(preset: Preset, kinds: Kinds) -> list[str]:
    return [preset.name, *(f"{kind}:{preset.name}" for kind in sorted(kinds(preset)))]


def _with_only_ones(chosen: list[Preset], concrete: Sequence[Preset], kinds: Kinds) -> list[Preset]:
    """Return `chosen` and, of each kind that is not among them, the preset if there is one only."""
    chosen = list(chosen)
    covered = frozenset[str]().union(*(kinds(preset) for preset in chosen))
    for kind in (*_ASKING, "printer"):
        of_kind = [preset for preset in concrete if kinds(preset) == {kind}]
        if kind not in covered and len(of_kind) == 1:
            chosen += of_kind
    return chosen


def _told(source: ProfileSource, chosen: list[Preset], concrete: Sequence[Preset]) -> list[Preset]:
    """Return `chosen`, and tell where other presets were left out."""
    others = [preset.name for preset in concrete if preset not in chosen]
    if others:
        fields = {
            "chosen": _listed(preset.name for preset in chosen),
            "others": _listed(others),
        }
        source.events.append(Event("profile-presets-chosen", chosen[0].at, fields))
    return chosen


def _listed(names: Iterable[str]) -> str:
    unique = list(dict.fromkeys(f"'{plain(name)}'" for name in names))
    more = len(unique) - _SHOWN
    return ", ".join(unique[:_SHOWN]) + (f" and {more} more" if more > 0 else "")


def _several(source: ProfileSource, concrete: Sequence[Preset], kinds: Kinds) -> ProfileError:
    """Return the error that tells which names there are."""
    parts = []
    for kind in _ASKING:
        names = [preset.name for preset in concrete if kind in kinds(preset)]
        if names:
            parts.append(f"{kind} {_listed(names)}")
    listed = "; ".join(parts) or _listed(preset.name for preset in concrete)
    problem = f"several presets are in it: {listed}"
    names = [name for name in source.active if any(p.name == name for p in concrete)]
    example = " ".join(f"--preset '{plain(name)}'" for name in names) or "--preset NAME"
    active = " (those it marks as active)" if names else ""
    remedy = f"name those you print with: {example}{active}"
    return ProfileError(problem, remedy, Span(source.path, 1))


def check_names(sources: Sequence[ProfileSource], wanted: Sequence[str], kinds: Kinds) -> None:
    """Refuse a name that no file has.

    Raises
    ------
    ProfileError
        With the closest name there is.
    """
    if not wanted:
        return
    presets = [preset for source in sources for preset in source.presets]
    known = {name for preset in presets for name in _names(preset, kinds)}
    for name in wanted:
        if name not in known:
            raise _unknown(name, presets)


def _unknown(name: str, presets: Sequence[Preset]) -> ProfileError:
    shown = {preset.name.lower(): preset.name for preset in presets}
    hint = near_miss(name, shown)
    for lower, proper in shown.items():
        hint = hint.replace(f"'{lower}'", f"'{plain(proper)}'")
    listed = _listed(preset.name for preset in presets if not preset.abstract)
    remedy = hint or f"there are {listed or 'none'}"
    return ProfileError(f"no preset is named '{plain(name)}'", remedy)
