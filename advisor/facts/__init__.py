"""The fact graph: named values with unit, spread and origin, and the formulas that join them."""
