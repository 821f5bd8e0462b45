"""Tablets in memory that run the bench's own sync machine against a real server, and lose what one can."""
