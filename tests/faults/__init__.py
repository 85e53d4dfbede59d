"""What a site does to a program, done on purpose: kills, power cuts, failing disks, flipped bits, wrong clocks."""
