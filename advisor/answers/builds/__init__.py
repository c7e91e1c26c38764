"""Machines side by side: what other hardware would deliver, and what a wanted flow would take."""
