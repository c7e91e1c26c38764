"""The records of the profile reader: what it reads and what it hands on; nothing is computed.

A `Preset` is one named set of settings as it stands in a file; a `ProfileSet` is the one ask
that all profiles given together make.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from advisor.base import Event, Fact, FileStatus, Origin, Span, State, frozen
from advisor.inputs.macro_commands import MacroSetting

__all__ = ["Feature", "Preset", "ProfileInfo", "ProfileSet", "ProfileSetting"]


@frozen
class ProfileSetting:
    """One setting as it stands in a profile.

    ``items`` are the elements of a list, or the single text; ``place`` is worked out late,
    for in JSON it costs a scan of the file.
    """

    key: str
    text: str
    items: tuple[str, ...]
    place: Callable[[], Span]

    @property
    def at(self) -> Span:
        """Where the key stands (ini: where the value stands)."""
        return self.place()


@dataclass(slots=True, eq=False)
class Preset:
    """A named set of settings as it stands in one file, or what of it may be shown.

    ``kinds`` are the kinds of profile it is (print, filament, printer); empty where only its
    parent could tell. ``named`` means that it stands beside others under a name of its own.
    """

    name: str
    file: str
    container: str  # ini | json
    settings: dict[str, ProfileSetting]
    at: Span
    kinds: frozenset[str] = frozenset()
    named: bool = False
    sections: frozenset[str] = frozenset()
    parents: tuple[str, ...] = ()
    parent_setting: ProfileSetting | None = None
    abstract: bool = False
    part: int | None = None
    outer: str = ""  # the file it was read from: the archive of a member
    base: str = ""  # the file's or member's own name
    outside: Preset | None = None  # as it was read, where this is what may be shown of it


@frozen
class Feature:
    """A feature of the print as the profile asks for it, in SI units.

    ``width``, ``height`` and ``acceleration`` are None where the profile leaves them to the
    slicer ("automatic"). ``unknown`` names the parts that a missing parent may state, or may
    state otherwise.
    ``round`` marks a free thread (a bridge): its area is pi / 4 width x height.
    """

    name: str
    title: str
    speed: float  # m/s
    width: float | None  # m
    height: float | None  # m
    acceleration: float | None  # m/s2
    flow_ratio: float  # [-], product of all that are stated
    round: bool = False
    unknown: frozenset[str] = frozenset()
    origins: Mapping[str, Origin] = field(default_factory=dict)  # speed, width, height, ...


@frozen
class ProfileInfo:
    """A profile that is part of the ask: its name, its kinds, and its parents."""

    name: str
    file: str
    kinds: tuple[str, ...]
    dialect: str
    parents: tuple[str, ...] = ()  # all that were found, nearest first
    missing_parents: tuple[str, ...] = ()


@frozen
class ProfileSet:
    """What the profiles given together ask for.

    Attributes
    ----------
    facts : mapping of str to Fact
        By fact name; floats in SI units (temperatures in kelvin) or text. A fact that no
        profile states is MISSING; one that a missing parent may state is UNKNOWN, and its
        origin is the place and the name of that parent; one whose text is no value is
        UNREADABLE.
    features : tuple of Feature
        The features with a known speed.
    features_state : State
        KNOWN if there are any; else why there are none.
    open_features : tuple of str
        Features whose speed a missing parent may state.
    events : tuple of Event
        What was noticed, in the order of files and lines.
    profiles : tuple of ProfileInfo
        The profiles that make the ask.
    files : tuple of FileStatus
        Every file that was read, parents too (role ``profile-parent``).
    set_later : tuple of MacroSetting
        What commands of the start code set for certain when a print begins.
    """

    facts: Mapping[str, Fact]
    features: tuple[Feature, ...] = ()
    features_state: State = State.MISSING
    open_features: tuple[str, ...] = ()
    events: tuple[Event, ...] = ()
    profiles: tuple[ProfileInfo, ...] = ()
    files: tuple[FileStatus, ...] = ()
    set_later: tuple[MacroSetting, ...] = ()
