"""The form of the design file: its fields and the lines they stand on."""
