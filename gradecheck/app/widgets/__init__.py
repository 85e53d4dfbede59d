"""The widgets the screens are made of, one a file."""
