"""Stepped tones: playing, timing, estimating; distortion against level and the highest level."""
