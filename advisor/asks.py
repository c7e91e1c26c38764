"""What the command line adds to a config, as one frozen record; it reads nothing."""

from __future__ import annotations

from advisor.frozen import frozen

__all__ = ["Asks"]


@frozen
class Asks:
    """What the command line adds to the config; texts as typed, None where not given."""

    sheet: str | None = None  # path; None: hardware.yaml beside the config, if there
    profiles: tuple[str, ...] = ()
    presets: tuple[str, ...] = ()  # which of a bundle's presets count
    parents: tuple[str, ...] = ()  # folders in which parents of a profile are looked for too
    sliced: str | None = None  # path of a sliced print
    material: str | None = None
    asked: str | None = None  # "24mm3/s"
    weighed: tuple[str, ...] = ()  # paths of the tables of weighed tests
    temperature: str | None = None  # of the nozzle, "220 degC"
    stdin: bytes | None = None  # the config when its path is "-"
    stdin_name: str = "-"
    allow: bool = True  # hold back what the owner allows in comments and in the sheet
