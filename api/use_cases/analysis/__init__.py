"""From a design to what each torque gives, how far the plate bows and whether the grip holds."""
