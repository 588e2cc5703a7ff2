"""From an event to a checked plan."""
