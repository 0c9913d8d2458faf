"""Lumped parameters: fits to the impedance, added masses, known volumes, and what follows from them."""
