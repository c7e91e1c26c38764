"""The page for a session at the machine: what is set, what to expect, when to stop."""
