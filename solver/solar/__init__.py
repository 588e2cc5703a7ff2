"""The sun: where it stands, how strong it is, what hides it, how a cooker follows it."""
