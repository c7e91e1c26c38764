"""How sure a weighed ratio is: the budget of a test, after JCGM 100:2008.

Density and the spool's diameter cancel between a fast and a slow run of one length; they count
in the absolute ratio alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.physics import weighing
from advisor.weigh.weigh_data import weigh_numbers

__all__ = ["Budget", "usual_budget"]


@dataclass(frozen=True, slots=True)
class Budget:
    """The parts of the uncertainty.

    Attributes
    ----------
    scale, cut : float
        Resolution of the scale; standard deviation of what ooze and the cut add, [kg]
    wander : float
        Relative standard deviation of the cross-section along the spool, [-]
    density, area : float
        Relative standard uncertainties of both, [-]
    length : float
        Standard uncertainty of the length fed, [m]
    coverage : float
        Coverage factor, [-]
    """

    scale: float
    cut: float
    wander: float
    density: float
    area: float
    length: float
    coverage: float

    def mass(self, pieces: int, rows: int) -> float:
        """Return the standard uncertainty of the mean mass of a piece, [kg].

        Parameters
        ----------
        pieces : int
            Pieces weighed together, [-]
        rows : int
            How often that was done, [-]
        """
        one = weighing.mass_uncertainty(
            self.scale / pieces, repeatability=self.cut / math.sqrt(pieces)
        )
        return float(one) / math.sqrt(rows)

    def own(self, mass: float, *, pieces: int, rows: int) -> float:
        """Return the relative standard uncertainty of one flow's mean mass, [-].

        Parameters
        ----------
        mass : float
            Mass it is referred to, [kg]
        pieces, rows : int
            As in `mass`, [-]
        """
        by_scale = self.mass(pieces, rows) / mass if mass > 0.0 else 0.0
        return math.hypot(by_scale, self.wander / math.sqrt(pieces * rows))

    def absolute(self, own: float, length: float) -> float:
        """Return the relative standard uncertainty of a ratio by density and diameter, [-].

        Parameters
        ----------
        own : float
            That of the mass, [-]
        length : float
            Length of a piece, [m]
        """
        combined = weighing.relative_uncertainty(
            mass=own, density=self.density, area=self.area, length=self.length / length
        )
        return float(combined)


def usual_budget(
    *,
    scale: float | None,
    diameter: tuple[float, float, float],
    measured_diameter: bool,
    density: tuple[float, float, float],
) -> Budget:
    """Return the budget of a test with the usual allowances where nothing is stated.

    Parameters
    ----------
    scale : float, optional
        Resolution of the scale, [kg]
    diameter, density : tuple of float
        Low, typical, high, [m], [kg/m3]
    measured_diameter : bool
        Whether the diameter is the table's own: then its band is the tolerance.
    """
    usual = weigh_numbers("uncertainty")
    half = (diameter[2] - diameter[0]) / 2.0 if measured_diameter else 0.0
    tolerance = weighing.tolerance_uncertainty(half or usual["diameter"])
    wide = (density[2] - density[0]) / 2.0 / density[1]
    return Budget(
        scale=usual["scale"] if scale is None else scale,
        cut=usual["cut"],
        wander=2.0 * usual["wander"] / diameter[1],
        density=float(weighing.tolerance_uncertainty(wide)) or usual["stated_density"],
        area=2.0 * float(tolerance) / diameter[1],
        length=usual["length"],
        coverage=usual["coverage"],
    )
