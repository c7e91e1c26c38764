"""The reports built by hand, as fixtures."""

from __future__ import annotations

import hand_made
import pytest

from advisor.answers.derate_records import DerateReport
from advisor.answers.machine_records import Explanation
from advisor.base import Report


@pytest.fixture
def machine() -> Report:
    """One extruder, asked 24 mm3/s, over-driven: every kind of finding."""
    return hand_made.machine()


@pytest.fixture
def quiet_machine() -> Report:
    """One extruder of which nothing is asked and nothing is wrong."""
    return hand_made.quiet_machine()


@pytest.fixture
def bare_machine() -> Report:
    """An extruder of which too little is known to compute anything."""
    return hand_made.bare_machine()


@pytest.fixture
def unreadable() -> Report:
    """Nothing could be read."""
    return hand_made.unreadable()


@pytest.fixture
def derating() -> DerateReport:
    """A 1.0 A rating of unsure basis with a known driver, on a printed mount."""
    return hand_made.derating()


@pytest.fixture
def no_setting() -> DerateReport:
    """A mount that bears no current at all at this ambient."""
    return hand_made.no_setting()


@pytest.fixture
def explanation() -> Explanation:
    """A derated current with its derivation: 0.566 A = 0.8 x 1.00 A / sqrt 2."""
    return hand_made.explanation()


@pytest.fixture
def material() -> Explanation:
    """A catalogue entry with numbers."""
    return hand_made.material()
