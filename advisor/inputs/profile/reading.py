"""Reads the slicer profiles given together as one ask.

Files are opened only through the two functions handed in, so that the reader can be used and
tested without a file system. What the ask means for the machine is not its business.

Where one file holds several presets it never guesses between them. One preset is taken as it is. Of
a bundle the presets named by the caller are taken; else the only print and the only filament
preset; else the names are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from advisor.base import Event, Fact, FileStatus, ProfileError, Span, State, near_miss
from advisor.inputs.profile.dialects import ProfileDialect, load_dialects
from advisor.inputs.profile.door import (
    Folders,
    ListFolder,
    OpenFile,
    default_list_folder,
    default_open_file,
    plain,
)
from advisor.inputs.profile.gather import (
    Gathered,
    facts_of,
    features_of,
    missing_parents,
    missing_parts,
)
from advisor.inputs.profile.parents import Ancestry, Resolved
from advisor.inputs.profile.pool import PresetPool
from advisor.inputs.profile.records import Feature, Preset, ProfileInfo, ProfileSet
from advisor.inputs.profile.source import ProfileSource, read_source
from advisor.inputs.profile.start_code import start_settings, told_texts

__all__ = ["Kinds", "check_names", "choose_presets", "read_profiles"]

Kinds = Callable[[Preset], frozenset[str]]
_ASKING = ("print", "filament")
_SHOWN = 8  # names in a sentence
_PARENT_LIMIT = 4 * 1024 * 1024  # bytes of a file looked at in the search for a parent
_CAP = "demand.profile_flow"


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


def read_profiles(
    paths: Sequence[str],
    *,
    presets: Sequence[str] = (),
    folders: Sequence[str] = (),
    tool: int = 0,
    nozzle_diameter: float | None = None,
    open_file: OpenFile = default_open_file,
    list_folder: ListFolder = default_list_folder,
    is_outside: Callable[[str], bool] = lambda path: False,
) -> ProfileSet:
    """Return what the profiles in `paths` ask for together.

    Parameters
    ----------
    paths : sequence of str
        Profiles, bundles or archives; of a setting stated twice the later file counts.
    presets : sequence of str
        Names (or ``kind:name``) of the presets to take out of a bundle or archive.
    folders : sequence of str
        Folders in which parents are looked for too.
    tool : int
        Which extruder of a list, from 0.
    nozzle_diameter : float, optional
        The machine's nozzle, for shares of it where no profile states one, [m].
    open_file, list_folder : callable
        Open a path for reading in binary; name the entries of a folder (folders end in ``/``).
    is_outside : callable
        Whether a path that the search for a parent leads to is outside: only values are taken
        from there, and no text of it is handed on.

    Raises
    ------
    UnreadableError
        If a file cannot be opened, is binary or too large.
    ProfileError
        If a file is no profile that we read, several presets could be meant, or parents go
        round in a circle.
    """
    dialects = load_dialects()

    def read(path: str, **limit: int) -> ProfileSource:
        return read_source(path, open_file=open_file, dialects=dialects, tool=tool, **limit)

    sources = [read(path) for path in dict.fromkeys(paths)]
    family = Ancestry(
        given=sources,
        folders=folders,
        read=lambda path: read(path, limit=_PARENT_LIMIT),
        near=Folders(list_folder),
        dialects=dialects,
        is_outside=is_outside,
    )
    check_names(sources, presets, family.kinds)
    members = _members(sources, presets, family)
    return _ask(members, sources, family, tool, nozzle_diameter)


def _members(
    sources: Sequence[ProfileSource], wanted: Sequence[str], family: Ancestry
) -> list[Resolved]:
    """Return the profiles that count, resolved; a file that only serves as parent does not."""
    chosen: dict[str, list[Preset]] = {}
    failed: dict[str, ProfileError] = {}
    for source in sources:
        try:
            chosen[source.path] = choose_presets(source, wanted, family.kinds)
        except ProfileError as err:
            failed[source.path] = err
    resolved = [family.resolve(preset) for group in chosen.values() for preset in group]
    parents = {id(parent) for member in resolved for parent in member.chain}
    for source in sources:
        serves = any(id(preset) in parents for preset in source.presets)
        if source.path in failed and not serves:
            raise failed[source.path]
    named = [member for member in resolved if id(member.preset) not in parents]
    return named or resolved


def _ask(
    members: list[Resolved],
    sources: Sequence[ProfileSource],
    family: Ancestry,
    tool: int,
    nozzle: float | None,
) -> ProfileSet:
    """Return the facts, features and events of the resolved profiles."""
    dialects = family.dialects
    pools = [PresetPool(dialect, group, tool, nozzle) for dialect, group in _by_dialect(members)]
    noticed: list[Event] = []
    parts = [facts_of(pool, dialects.materials) for pool in pools]
    facts = _merged(parts, dialects.units, noticed)
    gathered = [features_of(pool) for pool in pools]
    texts = [event for pool in pools for event in told_texts(pool)]
    left = [item for part in gathered for item in part.open]
    read = (*(event for source in sources for event in source.events), *family.events)
    missing = (*missing_parents(members, facts, left, dialects), *missing_parts(members))
    worked_out = (event for pool in pools for event in pool.events)
    features = _features(gathered, dialects.feature_order)
    return ProfileSet(
        facts=facts,
        features=features,
        features_state=_state(features, gathered),
        open_features=tuple(dict.fromkeys(name for name, _ in left)),
        events=(*read, *missing, *worked_out, *texts, *noticed),
        profiles=tuple(_info(member) for member in members),
        files=tuple(_files(sources, members)),
        set_later=tuple(one for pool in pools for one in start_settings(pool)),
    )


def _by_dialect(members: Iterable[Resolved]) -> list[tuple[ProfileDialect, list[Resolved]]]:
    groups: dict[str, tuple[ProfileDialect, list[Resolved]]] = {}
    for member in members:
        groups.setdefault(member.dialect.name, (member.dialect, []))[1].append(member)
    return list(groups.values())


def _merged(
    parts: Iterable[Mapping[str, Fact]], units: Mapping[str, str], noticed: list[Event]
) -> dict[str, Fact]:
    """Return the facts of all dialects; of two known ones the later counts, of caps the smaller."""
    facts = {name: Fact(name, state=State.MISSING) for name in units}
    for part in parts:
        for name, fact in part.items():
            facts[name] = _better(facts[name], fact, noticed)
    return facts


def _better(old: Fact, new: Fact, noticed: list[Event]) -> Fact:
    if not old.known or not new.known:
        ranks = (State.KNOWN, State.UNREADABLE, State.UNKNOWN, State.MISSING)
        return min(new, old, key=lambda fact: ranks.index(fact.state))
    if old.value == new.value:
        return new
    if old.origin.at and new.origin.at:
        fields = {
            "first": old.origin.at.file,
            "second": new.origin.at.file,
            "setting": new.origin.setting or "",
            "settings": new.origin.setting or "",
            "old": old.origin.text or "",
            "new": new.origin.text or "",
        }
        noticed.append(Event("profile-conflict", new.origin.at, fields, new.name))
    return min(old, new, key=lambda fact: fact.nominal or 0.0) if new.name == _CAP else new


def _features(gathered: Iterable[Gathered], order: Sequence[str]) -> tuple[Feature, ...]:
    by_name = {feature.name: feature for part in gathered for feature in part.features}
    return tuple(by_name[name] for name in order if name in by_name)


def _state(features: Sequence[Feature], gathered: Iterable[Gathered]) -> State:
    if features:
        return State.KNOWN
    gathered = list(gathered)
    if any(part.open for part in gathered):
        return State.UNKNOWN
    return State.UNREADABLE if any(part.unreadable for part in gathered) else State.MISSING


def _info(member: Resolved) -> ProfileInfo:
    return ProfileInfo(
        name=member.preset.name,
        file=member.preset.file,
        kinds=tuple(sorted(member.kinds)),
        dialect=member.dialect.name,
        parents=tuple(parent.name for parent in member.chain),
        missing_parents=tuple(dict.fromkeys(parent.name for parent in member.open)),
    )


def _files(sources: Sequence[ProfileSource], members: Iterable[Resolved]) -> list[FileStatus]:
    given = [source.path for source in sources]
    chain = [parent for member in members for parent in member.chain]
    parents = [parent.file if parent.outside else parent.outer for parent in chain]
    others = [path for path in dict.fromkeys(parents) if path not in given]
    return [FileStatus(path, "read", "profile") for path in given] + [
        FileStatus(path, "read", "profile-parent") for path in others
    ]
