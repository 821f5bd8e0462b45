"""Everything joined: screws press links, links push a plate on its rests, the plate answers."""
