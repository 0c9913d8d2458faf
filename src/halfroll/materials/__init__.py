"""What parts and prints are made of: magnet grades, steels, conductors, winding wire, filaments, and stock sizes.

`types` holds the value objects, `steel` the law of a soft magnetic steel; `catalogue` reads the data shipped with the
program (`data/*.toml`), each row with its source and how well it is supported.
"""
