"""What `mend` has to say, as frozen records; it computes nothing."""

from __future__ import annotations

from advisor.base import Band, FileStatus, Finding, Span, frozen

__all__ = ["ByHand", "CapacityChange", "Edit", "MendReport"]


@frozen
class Edit:
    """One change of one setting, as it comes out in the end.

    ``at`` is the value (a new line: the section's header) in the file as it is now. ``cured``
    are rules that are silent afterwards, ``eased`` those that still tell something, of a value
    that is right by its nominal figures.
    """

    at: Span
    role: str  # config | profile
    section: str | None
    setting: str
    old: str | None  # None: a new line
    new: str
    extruder: str | None
    findings: tuple[Finding, ...]  # that asked for it; one of each rule, the first one first
    cured: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    basis: str | None = None  # what the new value is, in words
    basis_fact: str | None = None  # the fact it is, to be explained
    words: tuple[str, ...] = ()  # on the place: why it counts there, what to mind
    written: bool = False


@frozen
class ByHand:
    """A change that a person has to make, and why it is no edit."""

    finding: Finding
    reason: str


@frozen
class CapacityChange:
    """The flow an extruder can be counted on for, in mm3/s, without and with the edits."""

    extruder: str
    before: Band | None
    after: Band | None
    bottleneck: str | None  # with the edits


@frozen
class MendReport:
    """Answer of `mend`: the edits, what they leave, and what was written.

    ``patch`` is the diff of what is proposed or, after writing, of what was written.
    """

    config: str
    edits: tuple[Edit, ...] = ()
    by_hand: tuple[ByHand, ...] = ()
    left: tuple[Finding, ...] = ()  # findings that no edit cures
    brought: tuple[Finding, ...] = ()  # those among them that come with the edits
    capacity: tuple[CapacityChange, ...] = ()
    patch: bytes = b""
    patch_folder: str = "."  # where `patch -p1` takes it
    notes: tuple[str, ...] = ()  # sentences on files: links, other names, owners
    written: tuple[str, ...] = ()
    backups: tuple[str, ...] = ()
    undone: bool = False  # files were put back
    allowed: int = 0  # findings that the owner allows
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
