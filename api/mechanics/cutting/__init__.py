"""Cutting force of milling and drilling, and what it asks of the grip."""
