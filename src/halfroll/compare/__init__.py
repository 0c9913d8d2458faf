"""Versions against each other, like for like: what differs, by how much, and whether that may be claimed."""
