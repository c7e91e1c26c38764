"""Reads slicer profiles: ini, bundles, JSON with parents, zipped archives, in several dialects.

The keys stand in rules/dialects/profile_*.yaml. It hands on facts, features and events; it
works out no flow and judges nothing.
"""

from __future__ import annotations

from advisor.inputs.profile.dialects import ARTIFACTS
from advisor.inputs.profile.reading import read_profiles
from advisor.inputs.profile.records import Feature, ProfileInfo, ProfileSet

__all__ = ["ARTIFACTS", "Feature", "ProfileInfo", "ProfileSet", "read_profiles"]
