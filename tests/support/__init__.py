"""What several tests need: a throwaway PostgreSQL, a real server, the machine's tools."""
