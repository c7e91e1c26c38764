"""What `derate` answers, as frozen records; they compute nothing."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import (
    Band,
    frozen,
)

__all__ = ["DerateReport"]


@frozen
class DerateReport:
    """Answer of `derate`: currents in A, temperatures in degC, each an estimate or None."""

    rating: float  # A, as typed
    basis: str  # peak | rms | unsure
    share: float
    rated_current_rms: Band
    derated_current: Band
    set_current: float | None  # A RMS, rounded down to 0.01 A
    no_setting: str | None  # why there is no setting
    applied_current: Band | None  # None where the driver is not known
    winding_temperature: Band | None
    case_temperature: Band | None
    limits: Mapping[str, Band]  # "share", "winding", "mount", "chip": safe current of each, A RMS
    governed_by: str  # the limit that sets the derated current
    cautious: Band  # the rating read as peak per phase, times the share, A RMS
    thermal: Band  # the rating read as RMS with both phases on, A RMS: the motor's own heat limit
    peak_amplitude: float | None  # A, amplitude of the set current
    ambient: Band
    mount: str | None
    driver: str | None
    sense_resistor: float | None  # ohm
    full_scale_current: Band | None  # A RMS, the most the driver can be set to
    assumptions: tuple[str, ...]  # sentences
    cautions: tuple[str, ...]
    motor: str = ""  # its class, stated or by the rating
    material: str | None = None
    torque_share: float | None = None  # of that at the rated RMS current
    push_share: float | None = None
    case_soon: Band | None = None  # degC, 10 minutes after the current was set
    case_later: Band | None = None  # degC, after an hour
    time_constant: Band | None = None  # s, of the case
    stop_reading: float | None = None  # degC after 10 minutes that ends at the limit in an hour
    gear_temperature: Band | None = None  # degC, with the material's limit; it sets no current
    filament_limit: Band | None = None  # degC
    filament_current: Band | None = None  # A RMS at which the gears reach it

    @property
    def applied_or_set(self) -> float | None:
        """What flows, A RMS: what the driver applies of the setting, where it is known."""
        return self.applied_current.value if self.applied_current is not None else self.set_current
