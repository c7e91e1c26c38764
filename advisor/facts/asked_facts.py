"""Which limits lie below what is asked, lowest first.

One ask above several limits is one thing to be told: this makes its words. It judges nothing.
"""

from __future__ import annotations

from advisor.facts.graph import FactBook
from advisor.facts.summary import BOUNDING

__all__ = ["put_asked"]

_WORDS = {"torque": "motor", "grip": "grip", "buckling": "free gap", "melt": "melt zone",
          "heater": "heater"}  # fmt: skip
_PER_MM3 = 1e9


def put_asked(book: FactBook) -> None:
    """Put ``demand.limits_below`` where something is asked.

    Parameters
    ----------
    book : FactBook
        With the flow at every limit and what is asked [m3/s]; the typical machine counts.
    """
    if not book.known("demand.asked_flow"):
        return
    asked = _typical(book, "demand.asked_flow")
    flows = {
        name: _typical(book, f"flow.{name}") for name in BOUNDING if book.known(f"flow.{name}")
    }
    below = sorted((flow, name) for name, flow in flows.items() if flow < asked)
    if not below:
        return
    uses = ("demand.asked_flow", *(f"flow.{name}" for _, name in below))
    words = ", ".join(f"{_WORDS[name]} {_figure(flow)}" for flow, name in below)
    book.put_words("demand.limits_below", f"{words} mm3/s", uses, "the flow limits below the ask")


def _figure(flow: float) -> str:
    value = flow * _PER_MM3
    return f"{value:.0f}" if value >= 100.0 else f"{value:.2g}"


def _typical(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    assert value is not None, name
    return value
