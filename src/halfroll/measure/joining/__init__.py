"""Near and far field joined to one response."""
