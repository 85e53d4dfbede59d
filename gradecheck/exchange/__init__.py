"""What an office exchanges: lists and drawings in and out."""
