"""What a plate rests on: pads and a base that push but never pull, and the studs that pull it down."""
