"""The version of this program; the build reads it here."""

__all__ = ["__version__"]

__version__ = "0.1.0"
