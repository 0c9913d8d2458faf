"""The static field: `cutting`, `mesh`, `free_mesh` the half plane in triangles; `laws`, `discrete`, `magnetostatics` the solver; `study`
is the recipe for every figure, of which `gap_flux`, `saturation`, `operating_point`, `travel`, `field_map` and `spread` are parts.
"""
