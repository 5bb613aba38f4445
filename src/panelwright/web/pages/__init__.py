"""The pages: one module each, which brings `PAGE`."""
