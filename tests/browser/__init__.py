"""A real server and a real browser: what a person at the bench or in the office goes through."""
