"""``python -m advisor`` is the command ``feedwright``."""

from __future__ import annotations

from advisor.cli import run

if __name__ == "__main__":
    run()
