"""Parts as solids to print: closed meshes in the position they are printed in, checked, with the filament they take."""
