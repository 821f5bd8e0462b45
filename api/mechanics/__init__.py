"""Mechanics of pressed pieces on a plate: SI arrays in, arrays out; knows nothing of fixtures."""
