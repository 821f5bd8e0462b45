"""What a torque does to screw, clamp and plate, and which torques are plausible."""
