"""The rules of a plan, checked by code that knows no solver."""
