"""A telephone as a microphone: what a recording of a known sweep tells of a driver, and how little of it is sure."""
