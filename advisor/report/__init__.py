"""Turns records into text, JSON or SARIF: a report in, a string out; computes no engineering."""
