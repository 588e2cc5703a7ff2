"""Groups that go round: each at each stop once, no two at one, something to see where it can be."""
