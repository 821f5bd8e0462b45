"""A thin plate with pockets and bars: how it bends and stretches under given forces."""
