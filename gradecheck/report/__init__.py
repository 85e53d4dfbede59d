"""The words and figures shown to people: the same on the screen, at the command line and on paper."""
