"""Cabinets at small signals: volumes, ports, radiators, stuffing, walls, the network they make, and the alignments of Thiele and Small."""
