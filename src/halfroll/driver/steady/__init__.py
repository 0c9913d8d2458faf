"""Steady tones: what a driver does with them for ever."""
