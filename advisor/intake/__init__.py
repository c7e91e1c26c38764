"""Readers of what is given beside the config: sheets, slicer profiles, prints, weighed tests.

They hand on facts, records and events; what follows from them is worked out elsewhere.
"""
