"""Who does what: jobs, walks, turns."""
