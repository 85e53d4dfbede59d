"""Jobs on a PostgreSQL server."""
