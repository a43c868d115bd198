"""The network of a chain, its vessel and its plan: numbers only."""
