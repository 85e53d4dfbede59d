"""The instrument on site: how a set-up turns rod readings into elevations and elevations into grade rods."""
