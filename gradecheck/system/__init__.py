"""This machine and this program: settings, versions, whether the last run came to its end."""
