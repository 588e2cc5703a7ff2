"""How people reach it: command, API and pages. Computes nothing itself."""
