"""A readable page for each question."""
