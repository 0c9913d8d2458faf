"""The coil: `design` what a maker decides, `wound` what comes of it, `clearance` in the gap, `inductance` in air, `windings` those that
fit and give an impedance.
"""
