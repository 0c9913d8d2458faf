"""The level before a take: found by short bursts, raised by a ramp."""
