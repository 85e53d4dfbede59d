"""Three invented plans worked out a second time, by sums that share nothing with the program."""
