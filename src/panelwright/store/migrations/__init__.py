"""Numbered changes of the tables; `store.migrate` runs them. Once released, never edited."""
