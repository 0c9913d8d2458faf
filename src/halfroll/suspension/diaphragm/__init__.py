"""Diaphragm and moving parts: their masses, how they stop moving as one piece, and what that does to the sound."""

from halfroll.suspension.diaphragm.breaking import break_up
from halfroll.suspension.diaphragm.mass import moving_mass

__all__ = ["break_up", "moving_mass"]
