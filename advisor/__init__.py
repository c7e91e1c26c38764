"""Feedwright: tells whether a 3D printer's extruder can do what it is asked.

Importing it loads nothing; each part is imported where its work is needed.
"""

__version__ = "0.1.0"
