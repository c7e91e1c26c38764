"""Answers the commands that look at one extruder's curves: a config in, a record out."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers.asks import Asks
from advisor.answers.curve_records import GripReport, TorqueReport
from advisor.answers.curves.grip import grip_report
from advisor.answers.curves.torque import torque_report
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config

__all__ = ["grip_answer", "torque_answer"]

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


def grip_answer(
    config: str, asks: Asks, *, extruder: str | None = None, materials: Sequence[str] = ()
) -> GripReport:
    """Return what the gears of an extruder do to the filament.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    materials : sequence of str
        Materials to look at beside the machine's own; all of the catalogue where empty.

    Raises
    ------
    UsageError
        For an extruder or a material that there is not, or a command line that cannot be.
    """
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (_NO_EXTRUDER,)
        return GripReport(extruder=None, lacking=lacking, files=report.files, errors=report.errors)
    return grip_report(checked, name, materials=materials)
