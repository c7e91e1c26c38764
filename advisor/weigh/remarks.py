"""What a reader of a weighed test should know beside its numbers, as sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.weigh.knee import KneeFit
from advisor.weigh.records import Setup, Step
from advisor.weigh.steps import Steps
from advisor.weigh.table_records import WeighedTable

__all__ = ["outlier_sentences", "remarks"]

_MM3 = 1e9
_MUCH = 1.5  # scatter over the stated one that is told


def outlier_sentences(steps: Sequence[Step]) -> Iterator[str]:
    """Yield a sentence for each flow that is left out of the fit."""
    for step in steps:
        if step.outlier is not None:
            yield f"line {step.at[0].line}: {step.flow * _MM3:.3g} mm3/s gave {step.outlier}"


def remarks(
    table: WeighedTable, joined: Steps, used: Sequence[Step], fit: KneeFit, setup: Setup
) -> Iterator[str]:
    """Yield what is odd or missing in a test.

    Parameters
    ----------
    table : WeighedTable
        The test as it was written down.
    joined : Steps
        Its steps, and what the references say.
    used : sequence of Step
        The steps that count.
    fit : KneeFit
        The knee.
    setup : Setup
        The machine.
    """
    if table.left_out:
        yield f"{table.left_out} lines have no mass: those flows were not run"
    if joined.drift is not None:
        yield (
            f"the slow reference changed by {100 * joined.drift:+.1f} % from first to last: spool, "
            "temperature or a partial clog changed during the test"
        )
    if joined.repeatability > _MUCH or fit.excess > _MUCH:
        times = max(joined.repeatability, fit.excess)
        yield f"masses scatter {times:.1f} times as much as usual; the band is that much wider"
    slow = used[0].flow
    if setup.expected is not None and slow > setup.expected.low:
        yield (
            f"the slowest flow, {slow * _MM3:.3g} mm3/s, is not slow for this machine: the "
            "reference may have lost something already"
        )
    if fit.draws is None and not any(step.skipped == "yes" for step in used):
        yield (
            f"nothing was lost and nothing skipped up to {used[-1].flow * _MM3:.3g} mm3/s: the "
            "limit lies above; go on with faster flows (weigh plan --from)"
        )
    if used[-1].skipped == "unsure" and all(step.skipped == "unsure" for step in used):
        yield "no line says whether the motor skipped; listen for clicks and fill in yes or no"
