"""A day run forward: durations, moves, replay."""
