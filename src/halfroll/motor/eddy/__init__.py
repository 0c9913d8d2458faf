"""Eddy currents: `blocked` gives inductance and loss of the blocked coil; `skin` the steel's answer to small fields, `shape`, `mesh`
and `layers` a mesh as fine as the skin.
"""
