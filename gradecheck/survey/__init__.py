"""The instrument on site: how a setup turns rod readings into elevations and elevations into grade rods."""
