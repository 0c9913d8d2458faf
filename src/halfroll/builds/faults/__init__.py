"""What is wrong with a unit: from a version's reference and a builder's readings to suspects with probabilities, sizes and the next reading."""

from __future__ import annotations

from halfroll.builds.faults.find import find_faults
from halfroll.builds.faults.reference import reference_of

__all__ = ["find_faults", "reference_of"]
