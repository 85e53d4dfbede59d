"""What can be wrong with a journal as a whole."""

from __future__ import annotations


class JournalError(Exception):
    """The journal can't be used; the message is one sentence that says why and what to do."""


class OtherFormatError(JournalError):
    """The journal is of another format than this program can use, and for all it knows a good one."""
