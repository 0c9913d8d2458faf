"""The coil's temperature from its resistance, and the log of a power test."""
