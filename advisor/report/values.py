"""Hands out the bands of figures in the shape that pages work with; it formats nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from advisor.base import Band, Figure

__all__ = ["bands"]


def bands(figures: Mapping[str, Figure] | Iterable[Figure]) -> Mapping[str, Band]:
    """Return the band of every known number among `figures`, by name."""
    if isinstance(figures, Mapping):
        return _Bands(figures)
    return _Bands({figure.name: figure for figure in figures})


class _Bands(Mapping[str, Band]):
    """The bands of figures, each worked out when it is asked for: a page shows a part of them."""

    __slots__ = ("_figures",)

    def __init__(self, figures: Mapping[str, Figure]) -> None:
        self._figures = figures

    def __getitem__(self, name: str) -> Band:
        band = self._figures[name].band
        if band is None:
            raise KeyError(name)
        return band

    def __iter__(self) -> Iterator[str]:
        return (name for name, figure in self._figures.items() if figure.band is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)
