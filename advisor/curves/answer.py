"""Answers the commands that look at one extruder's curves: a config in, a record out."""

from __future__ import annotations

from advisor.asks import Asks
from advisor.curve_records import TorqueReport
from advisor.curves.torque import torque_report
from advisor.lint.check import check_config
from advisor.lint.flow import chosen_extruder

__all__ = ["torque_answer"]

_NO_EXTRUDER = "The config has no extruder section: name the root config."


def torque_answer(config: str, asks: Asks, *, extruder: str | None = None) -> TorqueReport:
    """Return torque against speed of an extruder of a config.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        Sheet, profiles, print and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or a command line that cannot be.
    """
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (_NO_EXTRUDER,)
        return TorqueReport(
            extruder=None, lacking=lacking, files=report.files, errors=report.errors
        )
    return torque_report(checked, name)
