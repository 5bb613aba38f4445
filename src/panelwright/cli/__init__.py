"""How answers are said on the command line."""
