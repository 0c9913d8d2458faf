"""The ground floor: errors, progress, frequency grids, levels, spectra, quantities with uncertainty."""
