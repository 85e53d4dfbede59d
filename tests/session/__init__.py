"""The one door for changes."""
