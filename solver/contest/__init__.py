"""The contest: the draw, tastings in an order that evens out the sun, the sums of the sheets."""
