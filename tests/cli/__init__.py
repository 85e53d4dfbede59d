"""The verbs at the command line."""
