"""The office: jobs of many crews on a PostgreSQL server, which keeps what it got and checks every chain itself."""
