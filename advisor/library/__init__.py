"""The library's questions, each with keyword arguments; they take trade units and print nothing."""
