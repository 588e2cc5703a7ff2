"""Around every request."""
