"""Measured sound: sweeps, their analysis, conversions between conditions, distortion."""
