"""From parts that touch to places: `design` what a maker decides, `design_checks` what must hold of it, `stack` the places, `polygons`
the geometry, `coil_room` the coil among the parts, `design_changes` what differs between two designs.
"""
