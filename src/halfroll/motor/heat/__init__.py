"""The coil's heat: `network` of two bodies, `estimate` of its values from the geometry, `limits` what gives way, `borne` the power,
`coil` the recipe.
"""
