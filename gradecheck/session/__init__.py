"""The one door for changes: drafts of what a person did, written, then adopted into the state."""
