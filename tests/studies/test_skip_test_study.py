"""The study of the skip test in little: ten machines, and how its table reads.

90 % is claimed; of ten machines chance allows what the binomial distribution of scipy says.
"""

from __future__ import annotations

from scipy import stats
from skip_test import BUILDS, machine, rows, run
from tiers import only_wide, wide

MACHINES = 10


@wide
@only_wide
def test_the_range_holds_as_often_as_claimed() -> None:
    """The true capacity lies in the range that the test leaves; it is mostly narrower."""
    made = list(run(MACHINES))

    assert sum(one.holds for one in made) >= stats.binom.ppf(0.0025, MACHINES, 0.85)
    assert sum(one.width < 1.0 for one in made) >= MACHINES - 2
    assert all(one.after is not None for one in made)


def test_the_study_has_machines_that_torque_and_that_grip_limits() -> None:
    """One machine is run, and the table has a line for its build, its limit and all."""
    limits = {machine(build)[1].plan.bottleneck for build in BUILDS}  # type: ignore[union-attr]
    table = list(rows(list(run(1))))

    assert {"torque", "grip"} <= limits
    assert len(table) == 4
