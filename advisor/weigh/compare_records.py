"""What two weighed tests show side by side, as frozen records in trade units; no arithmetic."""

from __future__ import annotations

from advisor.base import Band, FileStatus, frozen
from advisor.weigh.answers import WeighedTest
from advisor.weigh.records import Evenness

__all__ = ["DeliveredMore", "FlowRow", "WeighCompareAnswer"]


@frozen
class DeliveredMore:
    """By how much more the second delivers before it under-extrudes than the first [mm3/s].

    ``sure`` is how sure it is that it is more at all. ``at_least``: the second was whole to the
    end of its test, ``at_most``: the first was; then the band is of what can be said.
    """

    more: Band
    sure: float
    at_least: bool = False
    at_most: bool = False


@frozen
class FlowRow:
    """What comes out of both at one commanded flow, and by how much more of the second [mm3/s].

    ``sure`` is how sure it is that the second delivers more.
    """

    flow: float
    first: float
    second: float
    more: Band
    sure: float


@frozen
class WeighCompareAnswer:
    """Answer of `weigh compare`: what the second test shows against the first.

    Attributes
    ----------
    tests : tuple of WeighedTest
        Both; empty where one could not be read.
    more : DeliveredMore or None
        The answer; None where neither under-extrudes.
    rows : tuple of FlowRow
        By rising flow, in the range that both were weighed in.
    slow_ratio : Band or None
        What the second's slow run weighed over the first's, by length commanded, [-]
    expected : tuple of Band or None
        Where the model without any test expects delivery to fall, [mm3/s]
    expected_more : float or None
        The typical one of the second less that of the first, [mm3/s]
    evenness : tuple of Evenness or None
        Of both; None where too few pieces are whole.
    change : bool
        Whether both are tests of one machine on one filament: then it is what changed with time.
    shared_filament : bool
        Whether density and diameter are taken to be the same spool's, so that they cancel.
    cautions : tuple of str
        What differs besides, or would explain a change.
    """

    tests: tuple[WeighedTest, ...]
    more: DeliveredMore | None = None
    rows: tuple[FlowRow, ...] = ()
    slow_ratio: Band | None = None
    expected: tuple[Band | None, ...] = ()
    expected_more: float | None = None
    evenness: tuple[Evenness | None, ...] = ()
    change: bool = False
    shared_filament: bool = True
    cautions: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
