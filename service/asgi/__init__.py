"""Around every request: headers, limits, and how a refusal is said."""
