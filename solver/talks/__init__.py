"""Talks that float: given when their moment is to be seen and a speaker is free."""
