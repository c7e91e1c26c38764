"""Runs the command line: ``python -m advisor``."""

from __future__ import annotations

import sys

from advisor.cli import main

if __name__ == "__main__":
    sys.exit(main())
