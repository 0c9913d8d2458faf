"""Measured sound: sweeps, tones and impedance, their analysis, and what is read from them.

`sweep` is the signal, `recording` what came back, `player` whatever plays (`capture`: a sound card). `rig` calibrates, `level`
finds the level before a take, `analysis` goes from a sweep to a response, `residues` looks beside the harmonics, `stepped`
works with tones, `impedances` and `lumped` with the impedance and the parameters read from it, `joining` with near and far
field, `heat` with the coil's temperature.
"""
