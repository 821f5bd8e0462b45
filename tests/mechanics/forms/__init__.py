"""Textbook forms, as oracles: what the program computes by other ways must agree with them."""
