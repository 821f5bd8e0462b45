"""What a piece pressed between faces can hold: friction cones, and closed forms beside them."""
