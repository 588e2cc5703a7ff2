"""What people read, in words."""
