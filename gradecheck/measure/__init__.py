"""Exact lengths, elevations and slopes, and how people write them."""
