"""The journal: what people did, written once, durable before anyone is told, never changed."""
