"""What the entries come to."""
