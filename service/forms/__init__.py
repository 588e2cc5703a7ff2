"""From what people type to an event."""
