"""Written claims, "more than an octave deeper than v1", read and held against the figures."""
