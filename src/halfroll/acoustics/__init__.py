"""Acoustics: air, piston radiation, near field, weighting. Pure formulas, SI units, arrays in and out."""
