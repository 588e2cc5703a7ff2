"""Event files and what they name, in and out."""
