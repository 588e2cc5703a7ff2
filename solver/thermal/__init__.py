"""Heat: food, pots and cookers."""
