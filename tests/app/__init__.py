"""The app as it is met at the keyboard: each screen driven by its keys, judged by its words and by the journal."""
