"""What a computation of a design found, as plain values that are stored, shown and sent."""
