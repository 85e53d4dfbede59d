"""What the measured elevations say: within tolerance or not, and by how much."""
