"""Moving parts to begin with, as a file says them."""

EXAMPLE = """\
[surround]
family = "half-roll"
inner_mm = 68
outer_mm = 84
thickness_mm = 0.42
lip_inner_mm = 3
lip_outer_mm = 5
material = "tpu-85a"

[surround.print]
raster = "around"

[spider]
family = "corrugated"
inner_mm = 20.9
outer_mm = 56
thickness_mm = 0.3
rolls = 4
amplitude_mm = 1.2
lip_outer_mm = 4
material = "tpu-95a"

[cone]
shape = "straight"
inner_mm = 20.9
outer_mm = 68
depth_mm = 14
thickness_mm = 0.6
material = "petg"

[cap]
outer_mm = 26
height_mm = 5
thickness_mm = 0.6
material = "petg"

[moving]
glue_g = 0.4
leads_g = 0.2
travel_mm = 4
"""
"""Moving parts for the motor of `motor_design.EXAMPLE` that can be copied into ``version.toml``."""
