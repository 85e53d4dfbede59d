"""Sharing a job by a folder: a network drive, a synced folder, a stick."""
