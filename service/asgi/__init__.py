"""Around every request: limits."""
