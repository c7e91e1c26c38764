"""Runs the whole chain for a command and returns records; renders nothing, prints nothing."""
