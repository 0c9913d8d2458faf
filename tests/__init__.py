"""Tests of halfroll, one folder per room."""
