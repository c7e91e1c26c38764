"""Hands out the bands of figures in the shape that pages work with; it formats nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from advisor.base import Band, Figure

__all__ = ["bands"]


def bands(figures: Mapping[str, Figure] | Iterable[Figure]) -> dict[str, Band]:
    """Return the band of every known number among `figures`, by name."""
    listed = figures.values() if isinstance(figures, Mapping) else figures
    return {figure.name: figure.band for figure in listed if figure.band is not None}
