"""A driver worked out from its design, with what was assumed."""
