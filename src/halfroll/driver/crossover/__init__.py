"""Passive crossovers: circuits that share one amplifier among drivers, loaded by the drivers' real impedances."""
