"""What readings say: posteriors on a grid, worth of a test, leak or creep. Arrays, no files."""
