"""The screens, in Textual: they show rows, read keys and call the session; they compute nothing."""
