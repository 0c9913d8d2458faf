"""How loud a driver can play, and what limits it."""
