"""Many tablets, a bad network, power cuts and restores for as long as one likes; what was lost is counted."""
