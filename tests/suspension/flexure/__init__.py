"""Planar flexures: arms in three dimensions."""
