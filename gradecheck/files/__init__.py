"""What is written as files beside the journal, whole or not at all."""
