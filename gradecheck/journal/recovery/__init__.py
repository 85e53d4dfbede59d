"""The extraordinary ways of a journal: copies, rescue, upgrades, and what may lie in a folder from elsewhere."""
