"""Screws: threads, their data, torque and tension, limits and the tools that turn them."""
