"""Standing here, this file puts tests/ on the path, so that tests can import example_shapes."""
