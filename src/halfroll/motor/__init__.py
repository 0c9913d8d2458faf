"""Magnets, steel, gap and coil: a motor from parts one can buy, its field, force factor and inductance, its coil's heat.

Map: `types` a motor with every part in its place; `results` what is computed; `stack` from parts that touch to places;
`mesh`, `laws`, `discrete`, `magnetostatics` the solver; `study` every figure of the static field; `coil`, `windings`,
`coil_heat` the coil; `travel` the limits of travel.
"""
