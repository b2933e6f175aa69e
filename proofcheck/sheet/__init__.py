"""From picture to printed lines: intake, cleaning, lines, strips and ink."""
