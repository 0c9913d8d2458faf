"""Parts as solids to print: closed meshes in the position they are printed in, checked, with the filament they take."""

PARTS = ("surround", "spider", "cone", "cap", "former", "jig-inner", "jig-outer")
"""Names of all models there can be, in the order in which they are listed."""
