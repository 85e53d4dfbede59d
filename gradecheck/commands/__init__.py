"""The verbs as commands: each reads its options, asks the session, prints; none computes."""
