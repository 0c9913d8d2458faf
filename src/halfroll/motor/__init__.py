"""Magnets, steel, gap and coil: a motor from parts one can buy, its field, force factor and inductance, its coil's heat.

`types` is a motor with every part in its place, `results` what is computed. `placing` goes from parts that touch to places,
`field` to the static field and every figure of it, `force` to forces and modulation, `eddy` to the blocked inductance;
`coil` is the coil as wound and the choice of windings, `heat` the power it bears.
"""
