"""JSON under /api."""
