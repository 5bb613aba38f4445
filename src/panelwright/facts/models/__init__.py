"""The tables of a repair file, as the models that validate them and publish the schema."""
