"""Words that stay out of what a user reads, and why: how people at the bench do not speak.

Each pattern is looked for in the outputs without regard to case. `but` says what is said instead.
What a line holds that is quoted (a rule's name, a file) is not judged: see `test_words_out`.
"""

from __future__ import annotations

import re

__all__ = ["WORDS_OUT"]

_OUT = {  # pattern: what is said instead
    # figures and bars
    r"the way of the filament": "filament path",
    r"\bnominal\b": "typical",
    r"\blikely \d|\blikely:|\blikely\b(?= *(?:gives|$))": "range",
    r"\b(?:likely|plausible) machines?\b": "machines like this one; how sure",
    r"\bsamples? of the ensemble|\bensemble\b": "machines like this one",
    r"machines of (?:ten|twenty)": "9 in 10 machines",
    r"\bbeyond (?:that|this|it)\b": "above that",
    r"still open in the capacity": "remaining uncertainty",
    r"expanded uncertainty": "+- (95 %)",
    r"^in all\b": "summary, total",
    r"\bdoubled (?:bar|strand|line)": "double line",
    r"counted on for": "can sustain",
    # parts and limits
    r"\bgives? out\b": "limits first",
    r"core not soft": "unmelted core",
    r"\bfolds?\b": "buckles",
    r"\bfree gap\b": "unsupported gap",
    r"\bcools down\b": "cannot keep temperature",
    r"\bheld back\b": "capped by firmware",
    r"\bthe motor carries\b": "can push",
    r"\bheats .* through\b": "melts",
    r"\bis marked\b|\bmarks (?:the|a) filament\b|% marks\b": "close to slipping",
    r"\bshare \d": "80 % rule",
    r"\b(?:thermal|cautious) reading\b|^(?:thermal|cautious)  ": "if it is RMS, if it is a peak",
    r"^air  |\bair \d|\bair of \d|\bair temperature\b": "ambient",
    r"\bbears?\b": "is rated for",
    r"\bserves?\b": "would do",
    r"a motor is looked for": "sized for",
    r"% +short$|left short": "too weak in, sure",
    # moves and verdicts
    r"begins? to fall|\bknee\b": "under-extrusion starts",
    r"gears lose filament": "the filament slips",
    r"against the slow run": "% of the slow run",
    r"\b(?:slip|melt)-like\b": "looks like",
    r"retract by the firmware": "firmware retract",
    r"\b(?:retract|torque) to\b": "trusted, highest retract speed",
    r"stays with the": "still",
    r"\bbetter in\b": "more flow in",
    r"\bgains? push\b": "more push",
    r"^mind\b|^do  |with reserve": "caution, fix, caveats",
    r"\bcures?\b|\beases?\b": "fixes, helps",
    r"\btinder\b": "anything flammable",
    r"lines with [-+]": "- old, + new",
    r"as it stands\b": "as it is",
    # how it is written
    r"\d (?:to|and) \d+(?:\.\d+)? mm3/s": "a range in brackets: 8.5 (4.7-12) mm3/s",
    r"\bthereof\b|so that as far as": "plain English",
    r"\{[a-z_]+(?:\.[a-z_]+|[|}])": "no place to fill in",
}
WORDS_OUT = {
    re.compile(pattern, re.IGNORECASE | re.MULTILINE): but for pattern, but in _OUT.items()
}
