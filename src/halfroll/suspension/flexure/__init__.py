"""Planar flexures, flat spiders of arms between a hub and a rim: one arm in three dimensions, counted as often as there are arms."""

from halfroll.suspension.flexure.study import study_flexure as study_flexure
