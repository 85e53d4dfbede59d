"""Journals of every format that was released, as they were written then."""
