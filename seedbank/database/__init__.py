"""The database: its engine, schema, transactions, and whether anything has changed."""
