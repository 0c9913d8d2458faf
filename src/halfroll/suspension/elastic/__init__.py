"""Finite elements of large deformation: laws, elements, equilibrium. Knows nothing of loudspeakers."""
