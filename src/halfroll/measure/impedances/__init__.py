"""Impedance from recordings: the value, the sweep, the checks."""
