"""Torque on a screw to the force its wedge or cone presses sideways."""
