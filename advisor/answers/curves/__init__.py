"""Curves of an extruder: torque against speed, force against flow, pressure of the gears."""
