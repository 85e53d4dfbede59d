"""The shape of the ground: spots, planes, outlines, triangles; exact where nothing needs a square root."""
