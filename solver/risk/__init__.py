"""How likely a plan is to hold, and what saves it."""
