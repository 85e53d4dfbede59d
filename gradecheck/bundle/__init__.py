"""What a firm needs to put the program on laptops without a network: one file for each kind of machine."""
