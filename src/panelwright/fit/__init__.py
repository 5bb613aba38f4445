"""See design: one room for each question."""
