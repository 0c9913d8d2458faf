"""Printed suspensions: their profiles, how they bend, and what that means for the driver."""
