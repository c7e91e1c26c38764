"""At which level a condition is reported: an assumption never makes an error."""

from __future__ import annotations

from advisor.model import Level

__all__ = ["judged_level"]

REPORTED = 0.5  # share of the ensemble from which a finding is reported at its level
NOTED = 0.1  # share from which it is a note
SURE = 0.95  # share from which constants of the model count as known


def judged_level(
    level: Level,
    *,
    nominal: bool,
    share: float,
    assumed: bool = False,
    modelled: bool = False,
    defaulted: bool = False,
) -> Level | None:
    """Return the level at which a finding is told, or None where it is not.

    Parameters
    ----------
    level : Level
        The rule's own level.
    nominal : bool
        Whether the condition holds for the nominal machine.
    share : float
        Share of the ensemble in which it holds, [-].
    assumed : bool
        Whether it hangs on something about the machine that nobody stated.
    modelled : bool
        Whether it hangs on constants of the model.
    defaulted : bool
        Whether the value in question is one that the firmware applies by default.
    """
    if not nominal and share < REPORTED:
        return Level.NOTE if share >= NOTED else None
    if defaulted:
        return Level.NOTE
    if not assumed and (not modelled or share >= SURE):
        return level
    if share < REPORTED:
        return Level.NOTE
    return min(level, Level.WARNING, key=lambda one: one.rank)
