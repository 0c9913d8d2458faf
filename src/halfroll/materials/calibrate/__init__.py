"""Modulus, loss and creep of a printed plastic from what a maker can measure.

`strip` from a bent strip, `resonance` from a unit's measured resonance, `curve` from a measured stiffness curve, `ring` from a strip
that rings freely, `creep` from deflection over time; `combine` puts several of them together with the starting value. All pure.
"""
