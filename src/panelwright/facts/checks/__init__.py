"""What in a document does not fit together, one subject a module."""
