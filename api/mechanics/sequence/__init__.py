"""Elastic interaction of jacks on one plate: passes, what is left of each force, and the order."""
