"""How a version is put together and checked: bands that are good, the judging of readings, and the steps of the guide."""

from halfroll.builds.guide.guide import guide_of

__all__ = ["guide_of"]
