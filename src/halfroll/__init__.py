"""halfroll: the development bench of a maker who prints moving-coil loudspeaker drivers."""

__version__ = "0.1.0"
